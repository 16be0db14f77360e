package law

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"fairrun/stats/parallel"
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
	normal   *quickNormal
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
	u := &union{twoSided: twoSided, normal: quickNormals()}
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

// aim is the bound aimed at, relative to the estimate. The effort is what may be spent on the last
// lattice for one, in nanoseconds or so: a critical value is asked for once, p-values by the dozen.
const (
	aim            = 1e-4
	effort         = 4e7
	effortQuantile = 1e8
)

// fewPoints is the shortest lattice.
const fewPoints = 64

// mostPoints returns the longest that an effort allows.
func (u *union) mostPoints(effort float64) int {
	work := 0
	for _, b := range u.boxes {
		for _, rows := range b.rows {
			work += 25
			for _, row := range rows {
				work += len(row) + 5
			}
		}
	}
	if u.control != nil {
		work *= 2
	}
	points := fewPoints
	for 2*float64(points*work*shifts) < effort {
		points *= 2
	}
	return points
}

// adaptive doubles the points until the bound is what is aimed at or the effort is spent,
// and returns the number of points as well.
func (u *union) adaptive(df, x float64) (p, bound float64, points int) {
	most := u.mostPoints(effort)
	for points = fewPoints; ; points *= 2 {
		p, bound = u.estimate(df, x, points)
		if bound <= aim*p || points >= most {
			return p, bound, points
		}
	}
}

// quantile returns the x with P = p and a bound for its error: a solution of the
// smooth function that the control is, or few points give, mended with more and more. start is a
// first guess.
func (u *union) quantile(df, p, start float64) (x, bound float64) {
	rough := func(x float64) float64 {
		q, _ := u.estimate(df, x, fewPoints)
		return q
	}
	if u.control != nil {
		rough = func(x float64) float64 { return u.control.exact(df, x, u.twoSided) }
	}
	v := math.Asinh(solveTail(p, start, rough))
	slope := (rough(math.Sinh(v-0.05)) - rough(math.Sinh(v+0.05))) / 0.1
	const (
		most   = 40   // steps, for a law that the rough one is nothing like
		near   = 0.01 // of p, from where on a step is as good as the slope
		stride = 0.3  // the longest step
	)
	points, longest := fewPoints, u.mostPoints(effortQuantile)
	before, missed := math.NaN(), 0.0 // with as many points
	for range most {
		q, off := u.estimate(df, math.Sinh(v), points)
		miss := q - p
		if secant := (missed - miss) / (v - before); secant > 0 && math.Abs(v-before) > 1e-3 {
			slope = secant
		}
		before, missed = v, miss
		step := math.Copysign(stride, miss)
		if math.Abs(miss) < stride*slope {
			step = miss / slope
		}
		v += step
		bound = (off + math.Abs(miss)/20) / slope
		close := math.Abs(miss) < near*math.Min(p, 1-p)+off
		if close && (bound*slope <= aim*p || points >= longest) {
			break
		}
		if close {
			points *= 2
			before = math.NaN()
		}
	}
	return math.Sinh(v), bound * math.Cosh(v)
}

const (
	// shifts is the number of independent copies of the lattice, from whose spread the
	// error is reported.
	shifts    = 12
	shiftSeed = 1
	// leastBound is what is claimed at best: the spread says nothing of parts that
	// no copy has met.
	leastBound = 1e-6
)

// estimate returns the probability and six standard errors, from randomly shifted
// copies of a lattice of so many points; the shifts are always the same ones. The scale S = e^v is
// drawn evenly over the hump of the integrand, at whose ends that is zero.
func (u *union) estimate(df, x float64, points int) (p, bound float64) {
	lo, spread, weight := u.scaleHump(df, x)
	dims := u.rank + 1
	net := newLattice(points, dims)
	shift := make([]float64, shifts*dims)
	random := rand.New(rand.NewPCG(shiftSeed, 0))
	for i := range shift {
		shift[i] = random.Float64()
	}
	var means [shifts]float64
	var running parallel.Group
	for s := range shifts {
		running.Go(func() {
			at, y := make([]float64, dims), make([]float64, u.rank)
			total := 0.0
			for k := range points {
				net.at(k, shift[s*dims:(s+1)*dims], at)
				for d := 1; d < dims; d++ {
					at[d] = math.Abs(2*at[d] - 1)
				}
				v := lo + spread*at[0]
				total += weight(v) * u.sample(x*math.Exp(v), at[1:], y)
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
	first := u.normal.upperQuantile(at[0] * tail)
	total := 0.0
	for i := range u.boxes {
		total += u.boxes[i].inside(u.normal, w, first, u.twoSided, at[1:], y)
		if u.control != nil {
			total -= u.control.boxes[i].inside(u.normal, w, first, u.twoSided, at[1:], y)
		}
	}
	if u.twoSided {
		tail *= 2
	}
	return tail * total
}

// inside returns the probability that the variables stay within w, given Y_0 = first.
func (b *box) inside(normal *quickNormal, w, first float64, twoSided bool, at, y []float64) float64 {
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
		near, far := normal.upper(low), normal.upper(high)
		e := near - far
		p *= e
		if p == 0 {
			return 0
		}
		if k+1 < len(b.rows) {
			y[k+1] = sign * normal.upperQuantile(far+e*at[k])
		}
	}
	return p
}
