package law

import "math"

// solveLog returns the x > 0 at which a log-tail reaches target. f(x) gives the
// log-tail, its derivative in log x, and the derivative of the logarithm of that
// derivative (0 if not known: the step is then Newton's). The tail must increase with x.
//
// Halley's method in log x, kept inside a bracket that grows by doubled steps until it
// holds the solution. Steps multiply x, so that x is exact to the last digits even at
// 1e±200. A solution outside [1e-306, 1e306] is returned as 0 or +Inf.
func solveLog(start, target float64, f func(x float64) (value, slope, bend float64)) float64 {
	const edge = 704.0 // log 1e306
	x := math.Min(math.Max(start, 1e-300), 1e300)
	lo, hi := math.Inf(-1), math.Inf(1) // of log x
	reach, last := 2.0, math.Inf(1)
	for range 200 {
		value, slope, bend := f(x)
		u := math.Log(x)
		if value < target {
			lo = u
		} else {
			hi = u
		}
		newton := (target - value) / slope
		if math.IsNaN(newton) {
			return newton
		}
		step := newton / math.Max(0.5, 1+newton*bend/2)
		size := math.Abs(step)
		if size < 1e-15 || size < 1e-9 && size >= last/2 {
			return x * (1 + step)
		}
		if last = size; !(size <= reach) {
			step = math.Copysign(reach, target-value)
			reach *= 2
		}
		if next := u + step; next < lo || next > hi {
			step = (lo+hi)/2 - u
		}
		switch next := u + step; {
		case next < -edge && u < 1-edge:
			return 0
		case next > edge && u > edge-1:
			return math.Inf(1)
		case math.Abs(next) > edge:
			step = math.Copysign(edge, next) - u
		}
		x *= math.Exp(step)
	}
	return x
}
