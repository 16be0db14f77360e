package verdict

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/check"
	"fairrun/stats/linmod"
	"fairrun/stats/words"
)

// checkOrder looks for what order left behind: stretches on one side, neighbours
// alike, a trend.
func checkOrder(d *Data, f *fit, y []float64) (said remarks) {
	order, e := f.squares.Chronological(d.Order), f.squares.Residuals()
	const stretches = "run order (runs test)"
	if r, err := check.RunsTest(sided(e, f.squares, order)); err != nil {
		said.skip(stretches, err)
	} else {
		said.judge(stretches, float64(r.Count), r.P, "residuals fall on either side in random order",
			fmt.Sprintf("residuals stay on one side for long stretches, or change sides too often (%s): something drifted that the model does not hold", words.P(r.P)))
	}
	said = append(said, neighbours(e, f.squares, order, slices.Concat(d.Recovered, d.Blocks))...)
	return append(said, leftover(f, d.Order, y)...)
}

// sided lists the residuals in run order for a test of which side of their median they lie on. In
// small layouts residuals are often equal or zero but for rounding, which must not choose the
// side: those of runs that the model fits whatever their value are left out (NaN), equal
// ones made equal.
func sided(e []float64, fit *linmod.Result, order []int) []float64 {
	sorted := make([]float64, len(order))
	for k, i := range order {
		sorted[k] = e[i]
	}
	if len(order) > maxSerial {
		return sorted
	}
	const fitted = 1 - 1e-9
	leverages := fit.Leverages()
	var free []float64
	for k, i := range order {
		if leverages[i] > fitted {
			sorted[k] = math.NaN()
		} else {
			free = append(free, sorted[k])
		}
	}
	joinTies([][]float64{free})
	for k, at := 0, 0; k < len(sorted); k++ {
		if !math.IsNaN(sorted[k]) {
			sorted[k] = free[at]
			at++
		}
	}
	return sorted
}

// neighbours tests whether runs done one after the other resemble each other
// beyond what the model holds. Only those in one level of the first of the blocks are neighbours.
func neighbours(e []float64, fit *linmod.Result, order []int, blocks []linmod.Factor) (said remarks) {
	const name = "neighbouring runs (Durbin-Watson)"
	sorted := make([]float64, len(order))
	for k, i := range order {
		sorted[k] = e[i]
	}
	var block []int32
	if len(blocks) > 0 {
		block = make([]int32, len(order))
		for k, i := range order {
			block[k] = blocks[0].Code[i]
		}
	}
	r, err := check.DurbinWatson(sorted, block, basis(fit, order))
	if err != nil {
		said.skip(name, err)
		return said
	}
	said.judge(name, r.Statistic, r.P, "runs done one after the other do not resemble each other", alikeness(r))
	return said
}

// alikeness says how neighbours resemble each other.
func alikeness(r check.Serial) string {
	if r.Statistic < r.Expected {
		return "runs done one after the other resemble each other beyond what the model holds: heat or the pack carried over, or something drifted; the intervals are then too short"
	}
	return "runs done one after the other differ more than chance allows: something alternates"
}

// basis is an orthonormal basis of the model's columns on the given rows, or
// nil for the mean only: with many runs the other columns hardly matter.
func basis(fit *linmod.Result, rows []int) mat.Matrix {
	if len(rows) > maxSerial {
		return nil
	}
	q := fit.Basis()
	out := mat.NewDense(len(rows), fit.Rank, nil)
	for k, i := range rows {
		out.SetRow(k, q.RawRowView(i))
	}
	return out
}

// leftover tests whether a straight or bent trend in run order explains
// anything beyond the model: the F test of adding it.
func leftover(f *fit, when, y []float64) (said remarks) {
	const name = "left-over drift"
	straight := linmod.Covariate{Name: "order", Value: centred(when, len(y))}
	bent := linmod.Covariate{Name: "order^2", Value: make([]float64, len(y))}
	for i, t := range straight.Value {
		bent.Value[i] = t * t
	}
	m := f.within
	m.Covariates = append(slices.Clone(m.Covariates), straight, bent)
	r, err := linmod.Fit(m, y)
	switch {
	case err != nil:
		said.skip(name, err)
	case r.DF == f.squares.DF:
		said.note(name, "the model holds all of it already")
	case r.DF == 0 || r.RSS == 0:
		said.note(name, "not checked: too few degrees of freedom are left")
	default:
		x, p := extra(f.squares, r)
		said.judge(name, x, p, "no drift in run order is left over",
			fmt.Sprintf("a drift in run order is left over (%s): the drift in the model does not hold all of it; for the next sheet choose model = \"position\" or \"curve\" under [drift], and rest longer between runs", words.P(p)))
	}
	return said
}

// centred is the time of each run; without times its row, centred so that its square is not its copy.
func centred(when []float64, rows int) []float64 {
	if when != nil {
		return when
	}
	out := make([]float64, rows)
	for i := range out {
		out[i] = float64(i) - float64(rows-1)/2
	}
	return out
}
