package design

// Factor is what is set on purpose: a current, a propeller.
type Factor struct {
	Name     string
	Unit     string    // "" when it has none
	Levels   []string  // the text of the file, at least two, all different
	Numeric  bool      // the levels are numbers: ordered, so a trend makes sense
	Values   []float64 // the levels as numbers; nil unless Numeric
	Baseline string    // one of Levels, or "" for none
	Change   string    // ChangeEasy: set anew before every run
}

// ChangeEasy says that a factor can be set anew before every run.
const ChangeEasy = "easy"
