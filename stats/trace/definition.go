package trace

// What names a measure.
type What int

// The measures. Terms are those of IEEE 181-2011 where it has one.
const (
	Transition What = iota // duration between two reference levels of a step
	Delay                  // from the command's edge to a reference level
	Settling               // from the 50 % instant to the last entry into a band around the level after
	Overshoot              // peak beyond the level after, as a share of the step
	Slope                  // steepest rate over a window
	Steady                 // mean of the settled state after a step
	Highest                // highest mean over a hold
	Reading                // value of one signal where another has a value
	Gradient               // slope of one signal over another in a range
	Integral               // over the whole log
	Change                 // end of the log less its start
)

// Definition says what is measured. Only the fields that What names count.
type Definition struct {
	What    What
	Falling bool // measure the falling steps instead of the rising ones

	From, To Reference // Transition both, Delay To
	Within   float64   // Settling: half the width of the band, a share of the step
	Window   float64   // Slope, s
	Hold     float64   // Highest, s
	At       float64   // Reading: where Run.Over has this value
	Low      float64   // Gradient: the range of Run.Over
	High     float64
}

// Reference is a reference level: a share of the step or a value.
type Reference struct {
	share, value float64
	absolute     bool
}

// Share returns the level at a share of the step: 0 is the level before, 1 the one after.
func Share(x float64) Reference { return Reference{share: x} }

// Level returns the level at a value of the signal.
func Level(x float64) Reference { return Reference{value: x, absolute: true} }

// Run is one run's signals: the one that is measured, the one it is measured over
// (Reading, Gradient) and the command, each nil where there is none.
type Run struct {
	Of, Over, Command *Trace
}

// Value is what was measured, or in Refused why not.
type Value struct {
	Value       float64   // NaN when refused
	Uncertainty float64   // standard: half of the 95 % interval over 1.96
	Edges       []float64 // instants that were used, s
	Steps       int       // steps that were measured
	Spread      float64   // standard deviation between them, NaN for one: they are no replicates
	Drift       float64   // Steady: by how much the state rises over its length
	Hysteresis  float64   // Reading: downward branch less upward branch; NaN with one branch
	Notes       []string  // what the reader of the value should know
	Refused     string
}
