package dist

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// union estimates P(max > w S) for correlated normal variables Z_i and an
// independent scale S, as the probability of a union of events A_i = {Z_i > w S}, or
// {|Z_i| > w S}, taken apart by the first that happens:
//
//	P(∪ A_i) = Σ_i P(A_i) P(no A_j, j < i | A_i).
//
// The first factor is a normal tail. The second one, a probability of a box, is
// near one when the union is rare, so its error is small in proportion to the answer. It is
// integrated by separation of variables (Genz 1992, Journal of Computational and
// Graphical Statistics 1, 141-149); rows that a singular matrix makes dependent
// narrow the interval of the last variable they depend on (Genz and Kwong 2000, Journal of
// Statistical Computation and Simulation 68, 1-21).
type union struct {
	twoSided bool
	boxes    []box
	rank     int
	control  *control // nil where there is none
}

// box is the event no A_j, j < i, given Z_i > w: Z_i = Y_0, and the other variables are
// lower triangular in independent standard normal Y_0, Y_1, …
type box struct {
	// rows[k] are the variables whose last coefficient belongs to Y_{k+1}. One
	// dependent on Z_i alone would need |corr| = 1 and goes to same.
	rows  [][][]float64
	same  [][]float64
	order []int // in which the variables before i are taken
}

// newUnion factors the correlation matrix once for each box.
func newUnion(corr mat.Symmetric, twoSided bool) *union {
	u := &union{twoSided: twoSided}
	for i := range corr.SymmetricDim() {
		b := newBox(corr, i)
		u.rank = max(u.rank, len(b.rows)+1)
		u.boxes = append(u.boxes, b)
	}
	u.control = newControl(corr, u.boxes)
	return u
}

// newBox is a Cholesky factorisation of variable i and those before it, in the
// order of their correlation with i: the likeliest to follow it out of the box
// come first, which lessens the variance of what is left (Gibson, Glasbey and Elston
// 1994).
func newBox(corr mat.Symmetric, i int) box {
	order := make([]int, i)
	for j := range order {
		order[j] = j
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return -cmp.Compare(math.Abs(corr.At(a, i)), math.Abs(corr.At(b, i)))
	})
	return factorBox(corr, i, order)
}

// factorBox takes the variables before i in the given order.
func factorBox(corr mat.Symmetric, i int, order []int) box {
	const negligible = 1e-10
	b := box{order: order}
	pivots := []int{i}
	factor := [][]float64{{1}}
	for _, j := range order {
		row := make([]float64, 0, len(pivots)+1)
		left := 1.0
		for k, p := range pivots {
			c := corr.At(j, p)
			for l := range k {
				c -= row[l] * factor[k][l]
			}
			c /= factor[k][k]
			row = append(row, c)
			left -= c * c
		}
		switch {
		case left < -1e-8:
			panic(panicCorrelation)
		case left > negligible:
			row = append(row, math.Sqrt(left))
			pivots = append(pivots, j)
			factor = append(factor, row)
			b.rows = append(b.rows, [][]float64{row})
			continue
		}
		last := len(row) - 1
		for last > 0 && math.Abs(row[last]) < 1e-9 {
			last--
		}
		if row = row[:last+1]; last == 0 {
			b.same = append(b.same, row)
		} else {
			b.rows[last-1] = append(b.rows[last-1], row)
		}
	}
	return b
}

// The bound aimed at, relative to the estimate, without and with a control.
const (
	aim        = 5e-4
	aimControl = 2e-4
)

// adaptive doubles the points until the bound is what is aimed at or the effort is spent,
// and returns the number of points as well.
func (u *union) adaptive(df, x float64) (p, bound float64, points int) {
	return u.refine(df, x, 1)
}

// looser is how much less of p a quantile needs: at p = 0.05 a part in a thousand of the tail
// is one in some ten thousand of x.
const looser = 3

// refine is adaptive with a bound so many times the one aimed at.
func (u *union) refine(df, x, times float64) (p, bound float64, points int) {
	work := 0
	for _, b := range u.boxes {
		for _, rows := range b.rows {
			for _, row := range rows {
				work += len(row) + 40
			}
		}
	}
	least := aim
	if u.control != nil {
		work, least = 2*work, aimControl
	}
	most := max(fewPoints, int(2e8/float64(work*shifts)))
	for points = fewPoints; ; points *= 2 {
		p, bound = u.estimate(df, x, points)
		if bound <= times*least*p || 2*points > most {
			return p, bound, points
		}
	}
}

// quantile returns the x with P = p and a bound for its error: a solution of the
// smooth function that the control is, or few points give, mended with more. start is a
// first guess.
func (u *union) quantile(df, p, start float64) (x, bound float64) {
	// Search on the scale of asinh x, as far tails fall like a power of x.
	rough := func(v float64) float64 {
		q, _ := u.estimate(df, math.Sinh(v), fewPoints)
		return q
	}
	var v float64
	switch {
	case u.control != nil:
		v = math.Asinh(u.control.upperQuantile(df, p, u.twoSided))
		rough = func(v float64) float64 { return u.control.exact(df, math.Sinh(v), u.twoSided) }
	case p <= 0.5:
		v = solveScore(math.Asinh(start), 0.02, p, rough)
	default:
		v = -solveScore(-math.Asinh(start), 0.1, 1-p, func(w float64) float64 { return 1 - rough(-w) })
	}
	slope := (rough(v-0.05) - rough(v+0.05)) / 0.1
	q, bound, points := u.refine(df, math.Sinh(v), looser)
	for range 6 {
		v += (q - p) / slope
		if math.Abs(q-p) < 2*bound { // the slope is good to a few parts in a hundred: so is this step
			break
		}
		q, bound = u.estimate(df, math.Sinh(v), points)
	}
	return math.Sinh(v), bound / slope * math.Cosh(v)
}

// fewPoints is the shortest sequence.
const fewPoints = 64

// shifts is the number of independent copies of the sequence, from whose spread the
// error is told.
const (
	shifts    = 12
	shiftSeed = 1
	// leastBound is what is claimed at best: the spread says nothing of parts that
	// no copy has met.
	leastBound = 1e-6
)

// estimate returns the probability and six standard errors, from randomly shifted
// copies of a Kronecker sequence of so many points; the shifts are always the same ones. Averages over it carry the weights of
// Hann's window, with which they converge faster than 1/points (Sugihara and Murota 1982,
// Mathematics of Computation 39, 549-554). The scale S = e^v is drawn evenly over the
// hump of the integrand.
func (u *union) estimate(df, x float64, points int) (p, bound float64) {
	lo, spread, weight := u.scaleHump(df, x)
	dims := u.rank + 1
	root := kroneckerRoots(dims)
	shift := make([]float64, shifts*dims)
	random := rand.New(rand.NewPCG(shiftSeed, 0))
	for i := range shift {
		shift[i] = random.Float64()
	}
	var means [shifts]float64
	var running sync.WaitGroup
	for s := range shifts {
		running.Go(func() {
			at, y := make([]float64, dims), make([]float64, u.rank)
			total := 0.0
			for k := range points {
				for d := range at {
					f := float64(k+1)*root[d] + shift[s*dims+d]
					at[d] = f - math.Floor(f)
					if d > 0 {
						at[d] = math.Abs(2*at[d] - 1) // periodic and continuous
					}
				}
				v := lo + spread*at[0]
				hann := 1 - math.Cos(2*math.Pi*(float64(k)+0.5)/float64(points))
				total += hann * weight(v) * u.sample(x*math.Exp(v), at[1:], y)
			}
			means[s] = total / float64(points)
		})
	}
	running.Wait()
	p, variance := stat.MeanVariance(means[:], nil)
	if u.control != nil {
		p += u.control.exact(df, x, u.twoSided)
	}
	return p, 6*math.Sqrt(variance/shifts) + leastBound*p
}

// scaleHump returns the interval [lo, lo+spread] of v = log S that matters, and the
// weight of a v drawn evenly from it. For DF = +Inf it is the point 0.
func (u *union) scaleHump(df, x float64) (lo, spread float64, weight func(v float64) float64) {
	if math.IsInf(df, 1) {
		return 0, 0, func(float64) float64 { return 1 }
	}
	const negligible = 20
	a := df / 2
	n := math.Log(float64(len(u.boxes)))
	hump := func(v float64) float64 {
		return math.Min(0, n+logNormalTail(x*math.Exp(v))) - a*excessExp(2*v)
	}
	sd := 1 / math.Sqrt(2*df+1)
	peak, top := climb(hump, 0, sd)
	lo = edge(hump, peak, top-negligible, -6*sd-negligible/df)
	spread = edge(hump, peak, top-negligible, 6*sd) - lo
	c := math.Log(2*spread) + math.Log(a/(2*math.Pi))/2 - stirlingError(a)
	return lo, spread, func(v float64) float64 { return math.Exp(c - a*excessExp(2*v)) }
}

// sample returns the sum over the boxes of P(A_i) times the probability, given the
// point at, that variables before i stay inside, less the same of the control. y is scratch
// space.
func (u *union) sample(w float64, at, y []float64) float64 {
	tail := normalTail(w)
	first := normalUpperQuantile(at[0] * tail)
	total := 0.0
	for i, b := range u.boxes {
		total += b.inside(w, first, u.twoSided, at[1:], y)
		if u.control != nil {
			total -= u.control.boxes[i].inside(w, first, u.twoSided, at[1:], y)
		}
	}
	if u.twoSided {
		tail *= 2
	}
	return tail * total
}

// inside returns the probability that the variables stay within w, given Y_0 = first.
func (b *box) inside(w, first float64, twoSided bool, at, y []float64) float64 {
	for _, row := range b.same {
		if v := row[0] * first; v > w || twoSided && v < -w {
			return 0
		}
	}
	y[0] = first
	p := 1.0
	for k, rows := range b.rows {
		low, high := math.Inf(-1), math.Inf(1)
		for _, row := range rows {
			mean := 0.0
			for l, c := range row[:k+1] {
				mean += c * y[l]
			}
			c := row[k+1]
			to, from := (w-mean)/c, math.Inf(-1)
			if twoSided {
				from = (-w - mean) / c
			}
			if c < 0 {
				if to, from = from, to; !twoSided {
					to = math.Inf(1)
				}
			}
			low, high = math.Max(low, from), math.Min(high, to)
		}
		if !(low < high) {
			return 0
		}
		// Work in the tail in which the interval lies.
		sign := 1.0
		if low+high < 0 {
			sign, low, high = -1, -high, -low
		}
		near, far := normalTail(low), normalTail(high)
		e := near - far
		p *= e
		if p == 0 {
			return 0
		}
		y[k+1] = sign * normalUpperQuantile(far+e*at[k])
	}
	return p
}
