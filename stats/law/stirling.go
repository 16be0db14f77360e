package law

import "math"

// stirlingHalves[i] is stirlingError(i/2), made with mpmath; degrees of freedom are
// mostly whole, and half of them is what the laws ask for.
var stirlingHalves = [...]float64{
	0, // not used
	0.15342640972002734529,
	0.08106146679532725822,
	0.054814121051917653896,
	0.041340695955409294094,
	0.033162873519936287485,
	0.027677925684998339149,
	0.023746163656297495971,
	0.020790672103765093112,
	0.018488450532673185231,
	0.016644691189821192163,
	0.015134973221917378874,
	0.013876128823070747999,
	0.012810465242920226924,
	0.011896709945891770095,
	0.011104559758206917327,
	0.010411265261972096497,
	0.0097994161261588032984,
	0.0092554621827127329177,
	0.008768700134139385463,
	0.0083305634333628712565,
	0.0079341145643140205472,
	0.007573675487951840795,
	0.0072445543013203831795,
	0.0069428401072095298657,
	0.0066652470327076824424,
	0.0064089941880042070684,
	0.0061717122630394576475,
	0.0059513701127588477356,
	0.005746216513010115682,
}

// stirlingError returns the error of Stirling's formula for a factorial,
//
//	log Γ(n+1) - (n + 1/2) log n + n - log(2π)/2,   n > 0,
//
// with an absolute error of a few units of 1e-16. It is δ(n) of Loader (2000).
func stirlingError(n float64) float64 {
	if twice := 2 * n; twice < float64(len(stirlingHalves)) && twice == math.Trunc(twice) {
		return stirlingHalves[int(twice)]
	}
	if n < 10 {
		// Powers and exponentials are each good to an ulp here, where a
		// difference of logarithms would not be.
		return math.Log(math.Gamma(n+1) * math.Exp(n) / (math.Pow(n, n) * math.Sqrt(2*math.Pi*n)))
	}
	// Bernoulli numbers B(2j) / (2j (2j-1)), Abramowitz & Stegun 6.1.41.
	r := 1 / (n * n)
	s := 1.0/156 - r*3617/122400
	s = 691.0/360360 - r*s
	s = 1.0/1188 - r*s
	s = 1.0/1680 - r*s
	s = 1.0/1260 - r*s
	s = 1.0/360 - r*s
	s = 1.0/12 - r*s
	return s / n
}

// deviance returns x log(x/m) + m - x, half the deviance of a Poisson count x
// with mean m, without the cancellation between its terms at x close to m. It is
// D0 of Loader (2000).
func deviance(x, m float64) float64 {
	return x * excessLog((m-x)/x, m/x)
}

// excessLog returns u - log(1+u) given both u and v = 1+u, to full relative
// accuracy.
func excessLog(u, v float64) float64 {
	if u > 2 || u < -2.0/3 {
		return u - math.Log(v)
	}
	// With r = u/(2+u), log(1+u) = 2 (r + r³/3 + r⁵/5 + …) and u - 2r = r u.
	r := u / (2 + u)
	r2 := r * r
	power, sum := 1.0, 0.0
	for k := 3.0; ; k += 2 {
		next := sum + power/k
		if !(next > sum) {
			return r*u - 2*r*r2*sum
		}
		sum = next
		power *= r2
	}
}

// excessExp returns exp(u) - 1 - u to full relative accuracy.
func excessExp(u float64) float64 {
	if u > 0.35 || u < -0.35 {
		return math.Expm1(u) - u
	}
	sum := 1.0 / 479001600
	sum = 1.0/39916800 + u*sum
	sum = 1.0/3628800 + u*sum
	sum = 1.0/362880 + u*sum
	sum = 1.0/40320 + u*sum
	sum = 1.0/5040 + u*sum
	sum = 1.0/720 + u*sum
	sum = 1.0/120 + u*sum
	sum = 1.0/24 + u*sum
	sum = 1.0/6 + u*sum
	return u * u * (0.5 + u*sum)
}
