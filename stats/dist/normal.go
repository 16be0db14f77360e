package dist

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// normalDensity returns the standard normal density at x, with x² split so that
// its rounding does not reach the result.
func normalDensity(x float64) float64 {
	s := x * x
	return math.Exp(-s/2) * (1 - math.FMA(x, x, -s)/2) / math.Sqrt(2*math.Pi)
}

// normalTail returns P(Z > x) for a standard normal Z, to full relative
// accuracy down to the smallest normal number (x = 37.5).
func normalTail(x float64) float64 {
	if x < 1 {
		return math.Erfc(x/math.Sqrt2) / 2
	}
	// x/√2 is rounded, and erfc multiplies that error by x²: the derivative
	// -2u erfc(u) (1 + O(u⁻²)) mends it. 1/√2 is hi + lo.
	const (
		hi = 1 / math.Sqrt2
		lo = -4.8336466567264567e-17
	)
	u := x * hi
	if u > 27.3 {
		return 0
	}
	rest := math.FMA(x, hi, -u) + x*lo
	t := math.Erfc(u) / 2
	return t - rest*math.Exp(-u*u)/math.SqrtPi
}

// logNormalTail returns log P(Z > x) for a standard normal Z, without underflow.
func logNormalTail(x float64) float64 {
	if x < 20 {
		return math.Log(normalTail(x))
	}
	// Asymptotic series of Mills' ratio, Abramowitz & Stegun 26.2.12.
	r := 1 / (x * x)
	s := 1 - r*(1-3*r*(1-5*r*(1-7*r*(1-9*r*(1-11*r*(1-13*r))))))
	return -x*x/2 - math.Log(x*math.Sqrt(2*math.Pi)) + math.Log(s)
}

// normalUpperQuantile returns the x with P(Z > x) = p.
func normalUpperQuantile(p float64) float64 {
	if p > 0.5 {
		return mathext.NormalQuantile(1 - p)
	}
	return -mathext.NormalQuantile(p)
}
