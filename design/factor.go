package design

// Factor is what is set on purpose: a current, a propeller.
type Factor struct {
	Name     string    `json:"name"`
	Unit     string    `json:"unit,omitempty"`     // "" when it has none
	Levels   []string  `json:"levels"`             // the text of the file, at least two, all different
	Numeric  bool      `json:"numeric"`            // the levels are numbers: ordered, so a trend makes sense
	Values   []float64 `json:"-"`                  // the levels as numbers; nil unless Numeric
	Baseline string    `json:"baseline,omitempty"` // one of Levels, or "" for none
	Change   string    `json:"change"`             // ChangeEasy or ChangeHard
}

// How hard a factor is to change.
const (
	ChangeEasy = "easy" // set anew before every run
	ChangeHard = "hard" // runs of one setting stay together within a block, as a whole plot
)
