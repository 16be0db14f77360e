package design

import (
	"fmt"
	"slices"
	"strings"
)

// Treatment is a combination of levels, one of each factor in the order of the plan.
type Treatment struct {
	Levels []string // the text of the file
}

// String returns the levels joined by a blank, as the verdict names a combination: "0 A". In a
// plan that was read no two treatments have the same String.
func (t Treatment) String() string { return strings.Join(t.Levels, " ") }

// Treatments returns the treatments of the plan: the chosen ones in the plan's order, or all
// combinations with the level of the first factor changing slowest.
func (c *Plan) Treatments() []Treatment {
	ts := make([]Treatment, c.CountTreatments())
	if c.Chosen != nil {
		for i, levels := range c.Chosen {
			ts[i] = Treatment{Levels: slices.Clone(levels)}
		}
		return ts
	}
	for i := range ts {
		levels := make([]string, len(c.Factors))
		rest := i
		for f := len(c.Factors) - 1; f >= 0; f-- {
			n := len(c.Factors[f].Levels)
			levels[f] = c.Factors[f].Levels[rest%n]
			rest /= n
		}
		ts[i] = Treatment{Levels: levels}
	}
	return ts
}

// CountTreatments returns the number of treatments, at most MaxRuns+1: a plan with more is
// refused, and counting stops before the product of the levels overflows.
func (c *Plan) CountTreatments() int {
	if c.Chosen != nil {
		return len(c.Chosen)
	}
	if len(c.Factors) == 0 {
		return 0
	}
	n := 1
	for _, f := range c.Factors {
		n *= len(f.Levels)
		if n > MaxRuns {
			return MaxRuns + 1
		}
	}
	return n
}

// FullFactorial reports whether every combination of the levels is among the treatments. Where it
// does not hold, main effects and interactions cannot all be distinguished, and a plan with
// Interactions compares its treatments as they stand, as levels of a single factor.
func (c *Plan) FullFactorial() bool {
	if c.Chosen == nil {
		return true
	}
	all := 1
	for _, f := range c.Factors {
		all *= len(f.Levels)
		if all > len(c.Chosen) {
			return false
		}
	}
	return all == len(c.Chosen) // chosen treatments are distinct, but in a screen that is no factorial
}

// Literal returns a level as TOML.
func (f *Factor) Literal(level string) string {
	if f.Numeric {
		return level
	}
	return fmt.Sprintf("%q", level)
}
