package law

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// nearProduct is the law of the largest of standard normal variables whose correlations
// are nearly l_i l_j. Given the common factor Z_0 = z the variables are nearly independent, with
// correlations r_ij = (corr_ij - l_i l_j) / √((1-l_i²)(1-l_j²)), and
//
//	P(max > w) = ∫ φ(z) {1 - exp(Σ log F_i(z) + W_1 + … + W_4)} dz
//
// with the sums W_k of linked. The last of them, W_4, tells how much is left out: each
// is smaller than the one before by about the largest r_ij times the number of variables it
// counts for. Comparisons with a level in incomplete blocks, or disturbed by a
// covariate, have r_ij of some hundredths, and what is left out is some millionths.
type nearProduct struct {
	base   *oneFactor // the law without r
	factor []factorLoading
	series *linked
	unit   *diagramSums // of derivatives of one, where all loadings are equal: only powers are left
	upper  *curve       // log P(max > w)

	mu   sync.Mutex
	last map[int]float64 // by panel of upper: the largest share of P that W_4 makes up at a node
}

// factorLoading is the loading of a variable and √(1-l²).
type factorLoading struct{ l, rest float64 }

// The largest r_ij that is tried, the share of P that the last sum may be, and a share that is good
// enough.
const (
	nearReach  = 0.4
	nearAim    = 4e-5
	nearEnough = 1e-5
)

// newNearProduct returns the law, or nil where the series leaves too much out. Equal loadings make
// it cheap; those of each variable its own make it good where they differ.
func newNearProduct(corr mat.Symmetric, twoSided bool) *nearProduct {
	n := corr.SymmetricDim()
	if twoSided {
		corr = upright(corr)
	}
	mean := 0.0
	for i := range n {
		for j := range i {
			mean += corr.At(i, j) / float64(n*(n-1)/2)
		}
	}
	equal := make([]float64, n)
	for i := range equal {
		equal[i] = math.Sqrt(math.Max(0, math.Min(0.98, mean)))
	}
	var best *nearProduct
	least := nearAim
	for _, l := range [][]float64{equal, nearestLoadings(corr)} {
		f := nearProductOf(corr, l, twoSided)
		if f == nil {
			continue
		}
		// Where a critical value may lie.
		w := normalUpperQuantile(0.025 / float64(n))
		if _, share := f.integrate(w); share < least {
			best, least = f, share
		}
		if least < nearEnough {
			break
		}
	}
	return best
}

// upright turns variables round so that most correlations are positive.
func upright(corr mat.Symmetric) mat.Symmetric {
	n := corr.SymmetricDim()
	l := nearestLoadings(corr)
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			r := corr.At(i, j)
			if (l[i] < 0) != (l[j] < 0) {
				r = -r
			}
			out.SetSym(i, j, r)
		}
	}
	return out
}

// nearProductOf returns the law about the given loadings, or nil where a correlation is too far off.
func nearProductOf(corr mat.Symmetric, loadings []float64, twoSided bool) *nearProduct {
	n := corr.SymmetricDim()
	f := &nearProduct{base: newOneFactor(loadings, twoSided)}
	alike := true
	for _, l := range loadings {
		f.factor = append(f.factor, factorLoading{l, math.Sqrt((1 - l) * (1 + l))})
		alike = alike && l == loadings[0]
	}
	r := make([]float64, n*n)
	for i, a := range f.factor {
		for j, b := range f.factor {
			if i == j {
				continue
			}
			r[i*n+j] = (corr.At(i, j) - a.l*b.l) / (a.rest * b.rest)
			if !(math.Abs(r[i*n+j]) <= nearReach) {
				return nil
			}
		}
	}
	f.series = newLinked(n, r)
	if alike {
		one := make([]float64, n)
		for i := range one {
			one[i] = 1
		}
		unit := f.series.sums(&[linkedOrder][]float64{one, one, one, one}, make([]float64, 6*n))
		f.unit = &unit
		f.factor = f.factor[:1]
	}
	width := 2.0
	for _, a := range f.factor {
		for width*0.3 > a.rest {
			width /= 2
		}
	}
	from := -float64(oneFactorTop)
	if twoSided {
		from = 0
	}
	whole := width * math.Floor((oneFactorTop-from)/width) // no node where a tail underflows
	f.upper = newCurveOf(from, from+whole, width, nearNode, f.logTail)
	f.last = map[int]float64{}
	return f
}

// nearNode has as many nodes as make an interpolant good to nearRounding.
var nearNode = chebyshev(14)

const nearRounding = 1e-7

// survival returns P(max T > x) on df degrees of freedom.
func (f *nearProduct) survival(df, x float64) float64 {
	return scaleMixtureTo(nearAgreement, df, func(s float64) float64 { return f.logSurvival(x * s) })
}

// bound returns twice what W_4 makes up of P(max T > x) = p.
func (f *nearProduct) bound(df, x, p float64) float64 {
	share := scaleAverage(df, func(s float64) float64 { return f.logSurvival(x * s) }, func(s float64) float64 {
		f.mu.Lock()
		defer f.mu.Unlock()
		return f.last[f.panel(x*s)]
	})
	return (2*share + nearRounding) * p
}

// logSurvival returns log P(max > w).
func (f *nearProduct) logSurvival(w float64) float64 {
	if !(w >= f.upper.lo && w < f.upper.hi) {
		return f.base.logSurvival(w)
	}
	return math.Min(0, f.upper.at(w))
}

func (f *nearProduct) panel(w float64) int { return int(math.Floor((w - f.upper.lo) / f.upper.width)) }

// logTail computes log P(max > w), a node of upper.
func (f *nearProduct) logTail(w float64) float64 {
	log, share := f.integrate(w)
	f.mu.Lock()
	defer f.mu.Unlock()
	f.last[f.panel(w)] = math.Max(f.last[f.panel(w)], share)
	return log
}

// nearAgreement is that of two results of a trapezoidal rule: the better one is good to about its
// square.
const nearAgreement = 1e-5

// integrate is the trapezoidal rule over z, laid where the law without r lives. It returns
// log P(max > w) and the share of P that W_4 makes up, taken as positive wherever it is.
func (f *nearProduct) integrate(w float64) (log, share float64) {
	lo, hi, top, n := f.base.span(w, f.base.tailIntegrand(w))
	at := f.newPoint()
	times := 1.0
	if f.base.twoSided { // even in z
		lo, n, times = 0, n/2, 2
	}
	h := (hi - lo) / float64(n)
	var sum [2]float64
	add := func(z, weight float64) {
		p, last := at.tail(w, z)
		weight *= math.Exp(-z*z/2 - top)
		sum[0] += weight * p
		sum[1] += weight * math.Abs(last)
	}
	add(lo, 0.5)
	for i := 1; i < n; i++ {
		add(lo+float64(i)*h, 1)
	}
	for n < 1<<14 {
		before := sum[0]
		for i := range n {
			add(lo+(float64(i)+0.5)*h, 1)
		}
		n *= 2
		h /= 2
		if math.Abs(sum[0]-2*before) <= 2*nearAgreement*before {
			break
		}
	}
	return math.Log(sum[0]*times*h) + top - math.Log(2*math.Pi)/2, sum[1] / sum[0]
}

// nearPoint is the law given z, with scratch space.
type nearPoint struct {
	*nearProduct
	f       [linkedOrder][]float64 // derivatives of log F_i
	scratch []float64
}

func (f *nearProduct) newPoint() *nearPoint {
	p := &nearPoint{nearProduct: f, scratch: make([]float64, 6*f.series.n)}
	for d := range p.f {
		p.f[d] = make([]float64, len(f.factor))
	}
	return p
}

// tail returns P(max > w | z), and what W_4 makes of it.
func (p *nearPoint) tail(w, z float64) (all, last float64) {
	const hopeless = -40 // log of the chance that all stay inside
	inside := 0.0
	count := 1.0
	if p.unit != nil {
		count = float64(p.series.n)
	}
	for i, a := range p.factor {
		log, f := logInside(w, z, a, p.base.twoSided)
		if inside += count * log; !(inside > hopeless) {
			return 1, 0
		}
		for d := range f {
			p.f[d][i] = f[d]
		}
	}
	var sums diagramSums
	if p.unit != nil {
		sums = p.unit.alike(&[linkedOrder]float64{p.f[0][0], p.f[1][0], p.f[2][0], p.f[3][0]})
	} else {
		sums = p.series.sums(&p.f, p.scratch)
	}
	three, four := sums.orders()
	inside += three
	all = -math.Expm1(math.Min(0, inside+four))
	return all, all + math.Expm1(math.Min(0, inside))
}

// logInside returns log F, F = P(l z + √(1-l²) (E + ξ) ≤ w) or P(|…| ≤ w) at ξ = 0, and the
// derivatives of log F with respect to ξ.
func logInside(w, z float64, a factorLoading, twoSided bool) (log float64, f [linkedOrder]float64) {
	b := (w - a.l*z) / a.rest
	tail, density := normalTail(b), normalDensity(b)
	// Derivatives of F: Hermite polynomials times the density at each end.
	h := [linkedOrder]float64{-density, -b * density, (1 - b*b) * density, (3 - b*b) * b * density}
	if twoSided {
		c := (w + a.l*z) / a.rest
		density := normalDensity(c)
		tail += normalTail(c)
		h[0] += density
		h[1] -= c * density
		h[2] -= (1 - c*c) * density
		h[3] += (3 - c*c) * c * density
	}
	inside := 1 - tail
	switch {
	case tail < 0.5:
		log = math.Log1p(-tail)
	case twoSided:
		inside = normalInterval(-(w+a.l*z)/a.rest, 2*w/a.rest)
		log = math.Log(inside)
	default:
		inside = normalTail(-b)
		log = math.Log(inside)
	}
	g1, g2, g3, g4 := h[0]/inside, h[1]/inside, h[2]/inside, h[3]/inside
	return log, [linkedOrder]float64{
		g1,
		g2 - g1*g1,
		g3 - g1*(3*g2-2*g1*g1),
		g4 - 4*g1*g3 - 3*g2*g2 + 6*g1*g1*(2*g2-g1*g1),
	}
}

// normalDensity returns φ(x).
func normalDensity(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }
