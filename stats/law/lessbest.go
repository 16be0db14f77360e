package law

import (
	"math"
	"sync"

	"fairrun/stats/root"
)

// LessBest is the law of simultaneous two-sided intervals for each of Groups ≥ 2 independent
// means less the best of the others, on DF degrees of freedom:
//
//	[d_i - lower se, d_i + upper se],   d_i = x_i - max over j ≠ i of x_j,
//
// se being the standard error of a difference. DF = +Inf is the same for known variance.
//
// upper is Tukey's constant, as the level with the least mean may be the one compared with any
// other. Low ends fail only in the place of the best, or just below it; lower, which is less than
// Tukey's and less than Dunnett's two-sided constant, solves Miss(lower, upper) = alpha. That the
// intervals hold together with 1 - alpha in every configuration of the means is shown by
// simulation only: see TestLessBestWorstFamily, which has the slow tag.
//
// A number of groups below 2 or DF ≤ 0 give NaN. The relative error of Miss is below 1e-9 where it is
// below 0.9, that of the constants likewise (TestLessBest). The last constants asked for are kept; making them takes
// some milliseconds.
type LessBest struct {
	Groups int
	DF     float64
}

// valid says whether the parameters define a law.
func (b LessBest) valid() bool { return b.Groups >= 2 && b.DF > 0 }

// Miss returns the chance that intervals with the given constants do not all hold where one
// level is compared with a rival from both sides, and k-2 others, k = Groups, lie just as high:
//
//	1 - E ∫ φ(u) [Φ(√2 lower S + u) - Φ(-√2 upper S + u)]^(k-2) [Φ(√2 lower S + u) - Φ(-√2 lower S + u)] du,
//
// S = √(χ²_ν/ν), ν = DF. It is computed as a tail, so that a small one is as accurate as a large one.
// A constant that is not positive gives 1.
func (b LessBest) Miss(lower, upper float64) float64 {
	switch {
	case !b.valid() || math.IsNaN(lower) || math.IsNaN(upper):
		return math.NaN()
	case lower <= 0 || upper <= 0:
		return 1
	case b.Groups == 2:
		return 2 * T{DF: b.DF}.Survival(lower)
	}
	const agree = 1e-6 // of two results: the finer one is then better than 1e-9
	normal := quickNormals()
	return math.Min(1, scaleMixtureTo(agree, b.DF, func(s float64) float64 { return b.logMiss(normal, lower*s, upper*s) }))
}

// logMiss is the logarithm of the chance for known variance.
func (b LessBest) logMiss(normal *quickNormal, lower, upper float64) float64 {
	// The step is short beside the narrowest hump, whose standard deviation is 1/√2: the trapezoidal rule has then
	// reached more digits than are asked for. Beyond far, one tail after the other is as good.
	const step, width, far = 0.5, 6.5, 30
	others := float64(b.Groups - 2)
	if lower > far {
		return logNormalTail(lower) + math.Log(2+others*(1+math.Exp(logNormalTail(upper)-logNormalTail(lower))))
	}
	l, u := math.Sqrt2*lower, math.Sqrt2*math.Min(upper, far+8)
	sum := 0.0
	n := math.Ceil((u/2 + width) / step)
	for i := -n; i <= n; i++ {
		z := i * step
		above := normal.upper(l + z)
		sum -= math.Exp(-z*z/2) * math.Expm1(others*math.Log1p(-above-normal.upper(u-z))+math.Log1p(-above-normal.upper(l-z)))
	}
	return math.Log(sum * step / math.Sqrt(2*math.Pi))
}

// Upper returns the constant of the high ends at level alpha: the studentized range's quantile
// over √2.
func (b LessBest) Upper(alpha float64) float64 {
	return StudentizedRange(b).UpperQuantile(alpha) / math.Sqrt2
}

// UpperP returns the level at which Upper is x ≥ 0: the p-value of a level whose largest shortfall from
// another is x standard errors.
func (b LessBest) UpperP(x float64) float64 {
	return StudentizedRange(b).Survival(x * math.Sqrt2)
}

// Ahead returns the chance, for known variance, that a level leads every one of Groups − 1 others with
// the same mean as its own by more than −z standard errors of a difference:
//
//	∫ φ(u) Φ(u + √2 z)^(k-1) du,   k = Groups.
//
// The absolute error is below 1e-12 (TestAhead). Fewer than 2 groups give NaN.
func (b LessBest) Ahead(z float64) float64 {
	switch {
	case b.Groups < 2 || math.IsNaN(z):
		return math.NaN()
	case b.Groups == 2:
		return math.Erfc(-z/math.Sqrt2) / 2
	}
	const step, width = 0.125, 9
	others, shift := float64(b.Groups-1), math.Sqrt2*z
	sum := 0.0
	for u := -width + 0.0; u <= width; u += step {
		sum += math.Exp(-u*u/2 + others*math.Log1p(-math.Erfc((u+shift)/math.Sqrt2)/2))
	}
	return math.Min(1, sum*step/math.Sqrt(2*math.Pi))
}

// lessBestKept are constants made so far.
var lessBestKept = struct {
	sync.Mutex
	lower map[[3]float64]float64 // of groups, df and alpha
}{lower: map[[3]float64]float64{}}

const lessBestMost = 256

// Lower returns the constant of the low ends at level alpha.
func (b LessBest) Lower(alpha float64) float64 {
	switch {
	case !b.valid() || !(alpha >= 0 && alpha <= 1):
		return math.NaN()
	case alpha == 0:
		return math.Inf(1)
	case alpha == 1:
		return 0
	}
	key := [3]float64{float64(b.Groups), b.DF, alpha}
	lessBestKept.Lock()
	x, ok := lessBestKept.lower[key]
	lessBestKept.Unlock()
	if ok {
		return x
	}
	x = b.solveLower(alpha)
	lessBestKept.Lock()
	defer lessBestKept.Unlock()
	if len(lessBestKept.lower) >= lessBestMost {
		clear(lessBestKept.lower)
	}
	lessBestKept.lower[key] = x
	return x
}

// solveLower makes the constant of the low ends, between Student's and Tukey's.
func (b LessBest) solveLower(alpha float64) float64 {
	if b.Groups == 2 {
		return T{DF: b.DF}.UpperQuantile(alpha / 2)
	}
	upper := b.Upper(alpha)
	miss := func(v float64) float64 { return b.Miss(math.Exp(v), upper) }
	return math.Exp(crossing(math.Log(T{DF: b.DF}.UpperQuantile(alpha/2)), math.Log(upper), func(v float64) float64 {
		return math.Log(miss(v) / alpha)
	}))
}

// LowerP returns the level at which Lower is x ≥ 0: the p-value of a level whose least lead over the
// others is x standard errors.
func (b LessBest) LowerP(x float64) float64 {
	switch {
	case !b.valid() || math.IsNaN(x):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	case b.Groups == 2:
		return 2 * T{DF: b.DF}.Survival(x)
	}
	// Upper constants that belong to the level looked for: Tukey's is larger than the lower one, and the level is
	// no less than that of a single comparison.
	level := 2 * T{DF: b.DF}.Survival(x)
	most := b.Upper(level)
	if !(most < math.MaxFloat64) {
		return level
	}
	v := crossing(math.Log(x), math.Log(most), func(v float64) float64 {
		upper := math.Exp(v)
		return math.Log(b.UpperP(upper) / b.Miss(x, upper))
	})
	return b.UpperP(math.Exp(v))
}

// crossing returns where f, positive at lo and negative at hi, is zero; the end where it is not so.
func crossing(lo, hi float64, f func(v float64) float64) float64 {
	flo, fhi := f(lo), f(hi)
	if !(flo > 0) {
		return lo
	}
	if !(fhi < 0) {
		return hi
	}
	return root.Between(lo, hi, 1e-12, func(v float64) float64 {
		switch v {
		case lo:
			return flo
		case hi:
			return fhi
		}
		return f(v)
	})
}
