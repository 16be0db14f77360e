package design

// Factor is what is set on purpose: a current, a propeller.
type Factor struct {
	Name     string    `json:"name"`
	Unit     string    `json:"unit,omitempty"`     // "" when it has none
	Levels   []string  `json:"levels"`             // the text of the file, at least two, all different
	Numeric  bool      `json:"numeric"`            // the levels are numbers: ordered, so a trend makes sense
	Values   []float64 `json:"-"`                  // the levels as numbers; nil unless Numeric
	Baseline string    `json:"baseline,omitempty"` // one of Levels, or "" for none

	// HardToChange says that runs of one setting stay together within a block, as a whole plot; false:
	// the factor is set again before every run.
	HardToChange bool `json:"hard_to_change"`
}
