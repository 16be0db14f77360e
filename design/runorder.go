package design

import (
	"slices"
)

// Order says what is asked of the order beyond blocks and drift: the table [order]. Its zero value
// asks for nothing.
type Order struct {
	CarryOver bool    `json:"carry_over,omitempty"` // each treatment follows each other equally often, as nearly as it can be
	Warmup    int     `json:"warmup,omitempty"`     // runs of the baseline at the start of each block, not analysed
	Reference []int   `json:"reference,omitempty"`  // positions, counted from 1 and with warm-up runs, at which each block runs the baseline; ascending
	Screen    *Screen `json:"screen,omitempty"`     // chooses the treatments; nil: the plan lists them, or runs all
}

// Fixed returns the number of warm-up and reference runs in a block.
func (o Order) Fixed() int { return o.Warmup + len(o.Reference) }

// Baselines returns the combination of all baselines.
func (c *Plan) Baselines() Treatment {
	levels := make([]string, len(c.Factors))
	for i, f := range c.Factors {
		levels[i] = f.Baseline
	}
	return Treatment{Levels: levels}
}

// BaselineTreatment returns the index into Treatments of the one in which every factor has its
// baseline; -1 when there is none.
func (c *Plan) BaselineTreatment() int {
	base := c.Baselines().Levels
	return slices.IndexFunc(c.Treatments(), func(t Treatment) bool { return slices.Equal(t.Levels, base) })
}
