package design

import (
	"fairrun/design/screen"
)

// Screen chooses the treatments of a plan whose factors all have two levels, so that few runs tell
// which of many factors matter. One of Resolution, Fraction and PlackettBurman is set.
type Screen struct {
	Resolution     int    `json:"resolution,omitempty"`      // 3, 4 or 5: the smallest regular fraction that has it
	Fraction       int    `json:"fraction,omitempty"`        // the best regular fraction of 4, 8, 16 or 32 runs
	PlackettBurman int    `json:"plackett_burman,omitempty"` // the design of 12, 20 or 24 runs
	FoldOver       string `json:"fold_over,omitempty"`       // FoldAll or a factor: the runs once more with its levels exchanged; "" for none

	// FoldBlocks are the blocks, from 1, ascending, that hold the runs with exchanged levels, the
	// others holding the runs as they are; nil: every block holds both.
	FoldBlocks []int `json:"fold_over_blocks,omitempty"`
}

// FoldAll folds a screen over in all its factors.
const FoldAll = "all"

// Key returns the key of [order] that sets the screen.
func (s *Screen) Key() string {
	switch {
	case s.Resolution > 0:
		return "resolution"
	case s.Fraction > 0:
		return "fraction"
	}
	return "plackett_burman"
}

// Fraction returns the regular fraction that the plan's screen runs, folded over if it is; nil for
// a plan without one, and for a Plackett–Burman design.
func (c *Plan) Fraction() (*screen.Fraction, error) {
	f, err := c.Unfolded()
	if f == nil || err != nil || c.Order.Screen.FoldOver == "" {
		return f, err
	}
	return f.FoldOver(c.Folded(c.Order.Screen.FoldOver)...), nil
}

// Unfolded returns the regular fraction without its fold-over.
func (c *Plan) Unfolded() (*screen.Fraction, error) {
	s := c.Order.Screen
	switch {
	case s == nil || s.PlackettBurman > 0:
		return nil, nil
	case s.Resolution > 0:
		return screen.SmallestRegular(len(c.Factors), s.Resolution)
	}
	return screen.Regular(len(c.Factors), s.Fraction)
}
