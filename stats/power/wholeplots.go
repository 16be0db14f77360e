package power

import "math"

// WholePlots is the part of a plan that precision depends on for a factor that
// is hard to change: its level is set once for all runs of a whole plot, so
// that whole plots and not runs are what it is judged by.
type WholePlots struct {
	Levels int // levels of the hard-to-change factor, 2 or more
	Blocks int // 1 or more
	Plots  int // whole plots of each level in each block, 1 or more
	Runs   int // runs in each whole plot, 1 or more

	// Spread is the standard deviation between whole plots of one level, over
	// the noise between runs within one; 0 if setting the level again changes nothing.
	Spread float64
}

// Precision returns what the plan offers a comparison of two levels of the
// hard-to-change factor, judged by the whole plots:
//
//	n  = Blocks · Plots                            whole plots of each level
//	SE = √(2 · (Spread² + 1/Runs) / n)             for noise of one unit within whole plots
//	DF = Levels · n − Blocks − (Levels − 1)
//
// It panics if a count is too small or Spread is negative.
func (w WholePlots) Precision() Precision {
	if w.Levels < 2 || w.Blocks < 1 || w.Plots < 1 || w.Runs < 1 || !(w.Spread >= 0) || math.IsInf(w.Spread, 1) {
		panic("power: whole plots have two or more levels, a block, a plot, a run and a spread")
	}
	n := float64(w.Blocks * w.Plots)
	return Precision{
		SE: math.Sqrt(2 * (w.Spread*w.Spread + 1/float64(w.Runs)) / n),
		DF: float64(w.Levels*w.Blocks*w.Plots - w.Blocks - (w.Levels - 1)),
	}
}

// ByBlocks returns the precision of this plan with 1, 2, … blocks in all.
func (w WholePlots) ByBlocks() Growth {
	return Growth{Least: 1, At: func(n int) Precision {
		w := w
		w.Blocks = n
		return w.Precision()
	}}
}
