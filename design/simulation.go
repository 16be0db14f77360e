package design

import (
	"time"
)

// Simulation is the bench on which "fairrun rehearse" tries the plan. It is no part of the plan's
// meaning: neither the draw nor the verdict depends on it.
//
// The zero value is not a bench; DefaultSimulation is one, and the keys of [simulation] take the
// place of its fields.
type Simulation struct {
	Ambient     float64       // temperature in °C of the water or air that cools the motor
	Heat        float64       // kelvin above ambient at which a cold motor's losses would settle if a run never ended
	WarmUp      time.Duration // time constant of the winding's heating and cooling
	Run         time.Duration // how long a run takes
	Rest        time.Duration // pause before a run
	Swap        time.Duration // pause before the first run of a block
	Sag         float64       // share of a full pack's voltage at rest that is gone once it is empty
	Drop        float64       // share of a full pack's voltage that is lost over its internal resistance in a run
	Used        float64       // share of its charge that a block takes from a pack
	PackScatter float64       // relative standard deviation of capacity and resistance between packs
	Failures    float64       // chance that a run fails
	Outliers    float64       // chance that a run is an outlier
	OutlierSize float64       // standard deviation of an outlier, in units of the noise
	Interplay   float64       // standard deviation from specimen to specimen, or from block to block, of what a level does, in units of the noise
	Currents    []Current     // factors whose levels change the current, in the plan's order
	Responses   []Reaction    // of each response, in the plan's order
}

// Current says how much current each level of a factor draws, relative to any one current. What a level's
// current does to its own run is part of that level's effect; rehearsed is what it leaves to
// the runs after it, heat and an emptier pack.
type Current struct {
	Factor string
	Levels []float64 // of each level
}

// Reaction says how a response reacts to the bench: it is proportional to
//
//	voltage^Volts · resistance^Copper
//
// with the voltage under load and the resistance of the copper at the winding's temperature.
type Reaction struct {
	Response      string
	Volts, Copper float64
	Mean          float64 // of the response, in its unit; any number will do where all else is relative
	Noise         Amount  // standard deviation from run to run
	Assumed       bool    // Noise stands in for what neither the plan nor [simulation] says
	Difference    Amount  // true difference whose finding is rehearsed; not Set: none
}

// DefaultSimulation returns the bench that stands for a plan that says nothing of it: a motor that
// would warm by 40 K, packs that lose a sixth of their voltage, now and then a run that fails
// or strays. Times and use of the pack are those of the budget if there is one.
//
// As the pack sags and the winding warms every response gets worse: in proportion to
// voltage, and by the root of the resistance. Its noise is the plan's, or 1.5 %; the difference is the
// margin. The mean of a response in absolute terms is put where the noise is 1.5 % of it or,
// without a noise, the margin 2 %.
//
// Specimens, where there are several, otherwise blocks answer a little differently to the same level: by half the noise.
func (c *Plan) DefaultSimulation() *Simulation {
	s := &Simulation{
		Ambient: 20, Heat: 40, WarmUp: 4 * time.Minute,
		Run: 30 * time.Second, Rest: time.Minute, Swap: 10 * time.Minute,
		Sag: 0.16, Drop: 0.04, Used: DefaultUsable, PackScatter: 0.04,
		Failures: 0.01, Outliers: 0.01, OutlierSize: 4,
	}
	if b := c.Budget; b != nil {
		s.Run, s.Rest, s.Swap = b.Run, b.Rest, b.Swap
		if b.Supply != nil {
			s.Used = min(1, float64(c.RunsPerBlock())*b.Supply.PerRun/b.Supply.Capacity)
		}
	}
	if c.Several() || c.BlocksAgree() {
		s.Interplay = defaultInterplay
	}
	for _, p := range c.Responses {
		r := Reaction{Response: p.Name, Volts: 1, Copper: -0.5, Mean: 1, Noise: p.Noise, Difference: p.Margin}
		if p.Better == BetterLower {
			r.Volts, r.Copper = -1, 0.5
		}
		if !r.Noise.Set {
			r.Noise, r.Assumed = Amount{Set: true, Value: defaultNoise, Relative: true}, true
		}
		switch {
		case !r.Noise.Relative:
			r.Mean = r.Noise.Value / defaultNoise
		case p.Margin.Set && !p.Margin.Relative:
			r.Mean = p.Margin.Value / 0.02
		}
		s.Responses = append(s.Responses, r)
	}
	return s
}

// defaultNoise is the relative noise that is simulated when the plan assumes none.
const defaultNoise = 0.015

// defaultInterplay is how differently specimens or blocks answer when the plan does not say, over the noise from run to run. It
// is assumed, without source: less could hardly be seen in results and would make too many false alarms where it was
// taken for none, and where each block holds a treatment once it costs little.
const defaultInterplay = 0.5

// BlocksAgree reports whether settings are judged by how far blocks agree on them: blocks are a sample, and no several
// specimens are.
func (c *Plan) BlocksAgree() bool { return !c.Block.Fixed && !c.Several() && c.Block.Count > 1 }

// Several reports whether more than one specimen of a type is tested.
func (c *Plan) Several() bool { return c.Specimens != nil && c.Specimens.Count > 1 }
