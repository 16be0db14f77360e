package power

import (
	"math"
	"slices"
)

// tails is how many standard errors from its truth a difference has no chance of note to lie.
const tails = 12

// law is [noiseLaw] of the estimate: where runs tell too, that of the estimate in [Precision.WithInterplay], as a
// discrete law over both mean squares, whose nodes lie between the bends and that at which the component becomes zero.
// Expectations are good to 1e-5.
func (e estimate) law(steep float64, bends ...float64) scale {
	if e.within == 0 {
		return noiseLaw(e.df, steep, bends...)
	}
	const least = 1e-8 // weight of note
	runs := noiseLaw(e.withinDF, min(steep, 8)).thin(least)
	var out scale
	for i, v := range runs.u {
		floor := e.within * v * v // of M₁, under which the component is zero
		pooled := func(u float64) float64 { return (e.df*u*u + e.withinDF*floor) / (e.df + e.withinDF) }
		at := []float64{steep * math.Sqrt(floor)}
		for _, b := range bends {
			m := (b / steep) * (b / steep)
			if below := ((e.df+e.withinDF)*m - e.withinDF*floor) / e.df; below > 0 && below < floor {
				at = append(at, steep*math.Sqrt(below))
			}
			if m > floor {
				at = append(at, b)
			}
		}
		if len(bends) == 0 {
			at = append(at, math.Inf(1)) // fine throughout
		}
		slices.Sort(at)
		specimens := noiseLaw(e.df, steep, at...).thin(least)
		for k, u := range specimens.u {
			if u*u < floor {
				u = math.Sqrt(pooled(u))
			}
			out.u, out.w = append(out.u, u), append(out.w, runs.w[i]*specimens.w[k])
		}
	}
	return out
}

// thin leaves out nodes that weigh less than a tenth of least.
func (l scale) thin(least float64) scale {
	var out scale
	for i, w := range l.w {
		if w > least/10 {
			out.u, out.w = append(out.u, l.u[i]), append(out.w, w)
		}
	}
	return out
}

// clear is [Test.found] by a law of the estimate: the chance given it, on average.
func (c Test) clear(delta float64, law scale, x float64) float64 {
	return law.mean(func(u float64) float64 {
		return above(x*u-delta) + above(x*u+delta)
	})
}
