package law

import (
	"encoding/binary"
	"math"
	"slices"
	"sync"
)

// oneFactor is the law of the largest of standard normal variables with one common
// factor,
//
//	Z_i = l_i Z_0 + √(1-l_i²) E_i,
//
// as two curves: the upper tail and the CDF. Given Z_0 = z the variables are
// independent, and one integral over z is left.
type oneFactor struct {
	twoSided bool
	loading  []float64 // distinct, rising
	rest     []float64 // √(1-l²)
	count    []float64 // how many variables have the loading
	n        float64   // all of them
	upper    *curve    // log P(max > x)
	lower    *curve    // log P(max ≤ x), two-sided less n log x
}

// oneFactorTop is where a single normal tail leaves the range of floating-point numbers.
const oneFactorTop = 37

// newOneFactor sorts and counts the loadings.
func newOneFactor(loadings []float64, twoSided bool) *oneFactor {
	sorted := slices.Clone(loadings)
	if twoSided {
		for i, l := range sorted {
			sorted[i] = math.Abs(l) // a sign changes nothing
		}
	}
	slices.Sort(sorted)
	f := &oneFactor{twoSided: twoSided, n: float64(len(sorted))}
	for _, l := range sorted {
		if k := len(f.loading) - 1; k >= 0 && f.loading[k] == l {
			f.count[k]++
			continue
		}
		f.loading = append(f.loading, l)
		f.rest = append(f.rest, math.Sqrt((1-l)*(1+l)))
		f.count = append(f.count, 1)
	}
	from := -float64(oneFactorTop)
	if twoSided {
		from = 0
	}
	f.upper = newCurve(from, oneFactorTop, f.logTail)
	f.lower = newCurve(from, oneFactorTop, f.logLower)
	return f
}

// oneFactors keeps the laws asked for last, so that a quantile or the next
// comparison finds its curves made.
var oneFactors = struct {
	sync.Mutex
	law map[string]*oneFactor
}{law: map[string]*oneFactor{}}

const oneFactorsKept = 64

// factorOf returns the law for these loadings.
func factorOf(loadings []float64, twoSided bool) *oneFactor {
	key := make([]byte, 0, 8*len(loadings)+1)
	for _, l := range loadings {
		key = binary.LittleEndian.AppendUint64(key, math.Float64bits(l))
	}
	if twoSided {
		key = append(key, 2)
	}
	oneFactors.Lock()
	defer oneFactors.Unlock()
	f := oneFactors.law[string(key)]
	if f == nil {
		if len(oneFactors.law) >= oneFactorsKept {
			clear(oneFactors.law)
		}
		f = newOneFactor(loadings, twoSided)
		oneFactors.law[string(key)] = f
	}
	return f
}

// logSurvival returns log P(max > x).
func (f *oneFactor) logSurvival(x float64) float64 {
	if x >= oneFactorTop {
		// Below the range of floating-point numbers: Bonferroni's bound will do.
		bound := math.Log(f.n) + logNormalTail(x)
		if f.twoSided {
			bound += math.Ln2
		}
		return bound
	}
	if x < -oneFactorTop {
		return 0
	}
	return f.upper.at(x)
}

// logCDF returns log P(max ≤ x).
func (f *oneFactor) logCDF(x float64) float64 {
	if x >= oneFactorTop {
		return 0
	}
	switch {
	case f.twoSided:
		return f.lower.at(x) + f.n*math.Log(x)
	case x < -oneFactorTop:
		return logNormalTail(-x) // a bound, below the range of floating-point numbers
	}
	return f.lower.at(x)
}

// logTail computes
//
//	P(max > x) = ∫ φ(z) {1 - Π_i (1 - u_i(z))} dz,   u_i(z) = P(Z_i beyond x | Z_0 = z),
//
// with the brace as -expm1 Σ log1p(-u_i), so that nothing cancels in the tail.
func (f *oneFactor) logTail(x float64) float64 {
	return f.integral(x, f.tailIntegrand(x))
}

// tailIntegrand returns the logarithm of the integrand but for √(2π).
func (f *oneFactor) tailIntegrand(x float64) func(z float64) float64 {
	return func(z float64) float64 {
		sum := 0.0
		for i, l := range f.loading {
			u := normalTail((x - l*z) / f.rest[i])
			if f.twoSided {
				u += normalTail((x + l*z) / f.rest[i])
			}
			sum += f.count[i] * math.Log1p(-math.Min(u, 1))
		}
		return -z*z/2 + math.Log(-math.Expm1(sum))
	}
}

// logLower computes
//
//	P(max ≤ x) = ∫ φ(z) Π_i (1 - u_i(z)) dz,
//
// two-sided divided by x^n.
func (f *oneFactor) logLower(x float64) float64 {
	return f.integral(x, func(z float64) float64 {
		sum := -z * z / 2
		for i, l := range f.loading {
			if f.twoSided {
				w := x / f.rest[i]
				sum += f.count[i] * (logNormalMean(-w-l*z/f.rest[i], 2*w) + math.Log(2/f.rest[i]))
				continue
			}
			sum += f.count[i] * logNormalTail((l*z-x)/f.rest[i])
		}
		return sum
	})
}

// integral returns log ∫ exp(g(z)) dz / √(2π).
func (f *oneFactor) integral(x float64, g func(z float64) float64) float64 {
	lo, hi, top, n := f.span(x, g)
	if math.IsInf(top, -1) {
		return top
	}
	return trapezoid(g, lo, hi, top, n) - math.Log(2*math.Pi)/2
}

// span returns where exp(g(z)) lives, the largest g and a number of steps to begin with. The
// integrand may have a hump for each loading, near z = l x, where the variable with that loading is
// most likely to pass x; each is looked for, and the span reaches beyond the outermost.
func (f *oneFactor) span(x float64, g func(z float64) float64) (lo, hi, top float64, n int) {
	left, right, top := math.Inf(1), math.Inf(-1), math.Inf(-1)
	finest := 1.0
	for i, l := range f.loading {
		finest = math.Min(finest, f.rest[i]/math.Max(math.Abs(l), 0.1))
		for _, start := range []float64{l * x, 0} {
			peak, height := climb(g, start, 0.5*f.rest[i])
			left, right, top = math.Min(left, peak), math.Max(right, peak), math.Max(top, height)
		}
	}
	if f.twoSided {
		right = math.Max(right, -left)
		left = -right
	}
	if math.IsInf(top, -1) {
		return 0, 0, top, 0
	}
	lo = edge(g, left, top-reach, -4)
	hi = edge(g, right, top-reach, 4)
	const most = 1 << 13
	n = 24
	for float64(n)*finest < hi-lo && n < most {
		n *= 2
	}
	return lo, hi, top, n
}
