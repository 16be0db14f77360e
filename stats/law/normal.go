package law

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

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

// normalInterval returns P(a < Z ≤ a+w) for a standard normal Z, w ≥ 0, to full
// relative accuracy.
func normalInterval(a, w float64) float64 {
	if w < 1 {
		return w * math.Exp(logNormalMean(a, w))
	}
	switch b := a + w; {
	case a > 0:
		return normalTail(a) - normalTail(b)
	case b < 0:
		return normalTail(-b) - normalTail(-a)
	default:
		return 1 - normalTail(-a) - normalTail(b)
	}
}

// logNormalMean returns log(P(a < Z ≤ a+w) / w): the mean density over the interval.
// A difference of tails would cancel for a short interval; with its middle c and
// half its length h, the mean is
//
//	φ(c) ∫_0^1 cosh(c h s) exp(-h² s²/2) ds.
func logNormalMean(a, w float64) float64 {
	if w >= 1 {
		return math.Log(normalInterval(a, w) / w)
	}
	h := w / 2
	c := a + h
	sum := 0.0
	for i, s := range gaussNode {
		hs := h * s
		sum += gaussWeight[i] * math.Cosh(c*hs) * math.Exp(-hs*hs/2)
	}
	return -c*c/2 - math.Log(2*math.Pi)/2 + math.Log(sum)
}

// Nodes and weights of the Gauss-Legendre rule of 12 points on (0, 1), made with mpmath.
var (
	gaussNode = [...]float64{
		0.009219682876640374655,
		0.04794137181476257166,
		0.1150486629028476565,
		0.2063410228566912764,
		0.3160842505009099031,
		0.4373832957442655423,
		0.5626167042557344577,
		0.6839157494990900969,
		0.7936589771433087236,
		0.8849513370971523435,
		0.9520586281852374283,
		0.9907803171233596253,
	}
	gaussWeight = [...]float64{
		0.0235876681932559136,
		0.05346966299765921548,
		0.08003916427167311317,
		0.1015837133615329609,
		0.1167462682691774044,
		0.1245735229067013925,
		0.1245735229067013925,
		0.1167462682691774044,
		0.1015837133615329609,
		0.08003916427167311317,
		0.05346966299765921548,
		0.0235876681932559136,
	}
)
