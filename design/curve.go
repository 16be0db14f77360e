package design

// curveTerms is the number of terms of a curve over position.
const curveTerms = 4

// CurveRuns is the fewest runs of a block whose curve can be distinguished from any course over position.
const CurveRuns = curveTerms + 2

// Curve returns the terms of DriftCurve at a position, of which first and last are analysed: a quadratic spline with knots at one and
// two thirds of the way, without its constant. It bends otherwise in the first and in the last third of a block, as heat does that
// levels off.
func Curve(position, first, last int) [curveTerms]float64 {
	x := float64(position-first) / float64(max(1, last-first))
	square := func(knot float64) float64 {
		v := max(0, x-knot)
		return v * v
	}
	return [curveTerms]float64{x, x * x, square(1. / 3), square(2. / 3)}
}
