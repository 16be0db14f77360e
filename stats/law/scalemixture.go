package law

import "math"

// scaleMixture returns E G(S) for S = √(χ²_ν/ν), ν = df degrees of freedom:
//
//	∫ G(s) f(s) ds,   f(s) = 2 (ν/2)^(ν/2) / Γ(ν/2) s^(ν-1) exp(-ν s²/2),
//
// given log G. Every law here with an estimated standard deviation is one of these: G is
// the tail it would have if the standard deviation were known.
//
// With s = e^v the integrand is analytic and has one hump, which falls off like a normal
// density for large ν but like e^(νv) on the left for small ν. v = peak + 3 sd sinh(t)
// bends the sides so that both fall doubly exponentially, as the trapezoidal rule
// likes it. The rule is laid where the integrand lives, wherever in the tail of G that
// is, so that a small result is as accurate as a large one. ν = +Inf gives G(1).
func scaleMixture(df float64, logG func(s float64) float64) float64 {
	return scaleMixtureTo(agreement, df, logG)
}

// scaleMixtureTo is scaleMixture for a G that is interpolated to less than all digits.
func scaleMixtureTo(agreement, df float64, logG func(s float64) float64) float64 {
	if math.IsInf(df, 1) {
		return math.Exp(logG(1))
	}
	a := df / 2
	logF := func(v float64) float64 { return logG(math.Exp(v)) - a*excessExp(2*v) }
	sd := 1 / math.Sqrt(2*df+1)
	peak, top := climb(logF, 0, sd)
	if math.IsInf(top, -1) {
		return 0
	}
	lo := edge(logF, peak, top-reach, -8*sd-reach/df)
	hi := edge(logF, peak, top-reach, 8*sd)

	b := 3 * sd
	bent := func(t float64) float64 {
		e := math.Exp(t)
		return logF(peak+b*(e-1/e)/2) + math.Log((e+1/e)/2)
	}
	integral := trapezoidTo(agreement, bent, math.Asinh((lo-peak)/b), math.Asinh((hi-peak)/b), top, 24)
	return 2 * b * math.Sqrt(a/(2*math.Pi)) * math.Exp(integral-stirlingError(a))
}

// scaleAverage returns E G(S) h(S) / E G(S), roughly: what a mixture sees of h.
func scaleAverage(df float64, logG, h func(s float64) float64) float64 {
	if math.IsInf(df, 1) {
		return h(1)
	}
	logF := func(v float64) float64 { return logG(math.Exp(v)) - df/2*excessExp(2*v) }
	sd := 1 / math.Sqrt(2*df+1)
	peak, top := climb(logF, 0, sd)
	if math.IsInf(top, -1) {
		return h(1)
	}
	const enough, steps = 12, 24
	lo := edge(logF, peak, top-enough, -4*sd)
	hi := edge(logF, peak, top-enough, 4*sd)
	sum, weights := 0.0, 0.0
	for i := range steps {
		v := lo + (hi-lo)*(float64(i)+0.5)/steps
		weight := math.Exp(logF(v) - top)
		sum += weight * h(math.Exp(v))
		weights += weight
	}
	return sum / weights
}
