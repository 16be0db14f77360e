package law

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// spatial is the law of the largest of normal variables that are linear in three independent
// ones, Z_i = a_i·Y with |a_i| = 1: every set of contrasts among four means, or three of
// any kind. The variable that is largest divides space into cones about the a_i. In the
// direction φ around a_i, its cone reaches from a_i as far as the angle θ_i(φ) with
//
//	cot θ_i = M_i(φ) = max_j (a_j - (a_i·a_j) a_i)·e(φ) / (1 - a_i·a_j),
//
// e(φ) the unit vector at right angles to a_i. Across a_i the distance has Rayleigh's law, so that
// the part of a cone where Z_i > w is, for w ≥ 0,
//
//	1/2π ∫ Q(w) - cos θ Q(w / cos θ) dφ,   Q the normal tail, cos θ = 1 where the cone is wider than a half-space,
//
// and only integrals of one dimension are left. M_i is largest at the corners of a
// convex polygon one after the other; between them the integrand is analytic.
type spatial struct {
	cones []cone
	times float64 // how many variables have cones alike: two, where -Z_i counts as well
	upper *curve  // log P(max > w)
}

// cone is the part of space where one variable is the largest, as arcs of the angle around it.
type cone struct {
	arcs  []arc
	whole bool // there is no other variable
}

// arc is an interval of φ on which M = reach cos(φ - from).
type arc struct{ lo, hi, from, reach float64 }

// newSpatial returns the law, or nil if the matrix has a rank above three.
func newSpatial(corr mat.Symmetric, twoSided bool) *spatial {
	a, ok := directions(corr)
	if !ok {
		return nil
	}
	s := &spatial{times: 1}
	a = distinct(a, twoSided)
	alone := len(a)
	if twoSided {
		s.times = 2
		for _, v := range a {
			a = append(a, [3]float64{-v[0], -v[1], -v[2]})
		}
	}
	for i := range alone {
		s.cones = append(s.cones, coneOf(a, i))
	}
	from := -float64(oneFactorTop)
	if twoSided {
		from = 0
	}
	s.upper = newCurve(from, oneFactorTop, s.logTail)
	return s
}

// directions returns the a_i by a Cholesky factorisation with pivots; ok is false if three dimensions
// do not hold them.
func directions(corr mat.Symmetric) (a [][3]float64, ok bool) {
	const negligible = 1e-11
	n := corr.SymmetricDim()
	a = make([][3]float64, n)
	left := make([]float64, n)
	for i := range left {
		left[i] = 1
	}
	for d := range 3 {
		pivot := 0
		for i, v := range left {
			if v > left[pivot] {
				pivot = i
			}
		}
		if left[pivot] < negligible {
			break
		}
		root := math.Sqrt(left[pivot])
		at := a[pivot]
		for i := range a {
			c := corr.At(i, pivot)
			for k := range d {
				c -= a[i][k] * at[k]
			}
			a[i][d] = c / root
			left[i] -= a[i][d] * a[i][d]
		}
		left[pivot] = 0
	}
	for i := range a {
		for j := range i + 1 {
			if !(math.Abs(dot(a[i], a[j])-corr.At(i, j)) <= negligible) {
				return nil, false
			}
		}
	}
	return a, true
}

// distinct leaves out vectors that are there already, or their opposites if twoSided.
func distinct(a [][3]float64, twoSided bool) (out [][3]float64) {
	for _, v := range a {
		if !slices.ContainsFunc(out, func(u [3]float64) bool {
			d := dot(u, v)
			return d > 1-1e-11 || twoSided && d < -1+1e-11
		}) {
			out = append(out, v)
		}
	}
	return out
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func cross(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// coneOf returns the cone of a[i].
func coneOf(a [][3]float64, i int) cone {
	// e1 and e2 are at right angles to a[i].
	least := 0
	for k := range 3 {
		if math.Abs(a[i][k]) < math.Abs(a[i][least]) {
			least = k
		}
	}
	var axis [3]float64
	axis[least] = 1
	e1 := cross(a[i], axis)
	length := math.Sqrt(dot(e1, e1))
	for k := range e1 {
		e1[k] /= length
	}
	e2 := cross(a[i], e1)
	var points [][2]float64
	for j, v := range a {
		if j == i {
			continue
		}
		c := 1 / (1 - dot(a[i], v))
		p := [2]float64{c * dot(v, e1), c * dot(v, e2)}
		if !slices.ContainsFunc(points, func(q [2]float64) bool {
			return math.Hypot(p[0]-q[0], p[1]-q[1]) < 1e-9*(1+math.Hypot(p[0], p[1]))
		}) {
			points = append(points, p)
		}
	}
	corner := hull(points)
	var c cone
	switch len(corner) {
	case 0:
		c.whole = true
	case 1:
		c.add(0, 2*math.Pi, corner[0])
	default:
		for k, p := range corner {
			before, after := corner[(k+len(corner)-1)%len(corner)], corner[(k+1)%len(corner)]
			// p is the farthest between the outward normals of the two sides that meet there.
			lo := math.Atan2(p[1]-before[1], p[0]-before[0]) - math.Pi/2
			turn := math.Mod(math.Atan2(after[1]-p[1], after[0]-p[0])-math.Pi/2-lo+4*math.Pi, 2*math.Pi)
			if turn < 2*math.Pi-1e-9 { // otherwise no turn, but for rounding
				c.add(lo, lo+turn, p)
			}
		}
	}
	return c
}

// add appends the arc on which the corner p is the farthest, cut where M passes zero, as the integrand
// has a kink there.
func (c *cone) add(lo, hi float64, p [2]float64) {
	from, reach := math.Atan2(p[1], p[0]), math.Hypot(p[0], p[1])
	cut := from + math.Pi/2
	for cut -= math.Pi * math.Floor((cut-lo)/math.Pi); cut < hi; cut += math.Pi {
		if cut > lo {
			c.arcs = append(c.arcs, arc{lo, cut, from, reach})
			lo = cut
		}
	}
	c.arcs = append(c.arcs, arc{lo, hi, from, reach})
}

// hull returns the corners of the convex hull against the clock (Andrew 1979, Information
// Processing Letters 9, 216-219).
func hull(points [][2]float64) [][2]float64 {
	slices.SortFunc(points, func(p, q [2]float64) int {
		return cmp.Or(cmp.Compare(p[0], q[0]), cmp.Compare(p[1], q[1]))
	})
	points = slices.Compact(points)
	if len(points) < 3 {
		return points
	}
	half := func(points [][2]float64) [][2]float64 {
		var out [][2]float64
		for _, p := range points {
			for len(out) > 1 {
				a, b := out[len(out)-2], out[len(out)-1]
				if (b[0]-a[0])*(p[1]-a[1])-(b[1]-a[1])*(p[0]-a[0]) > 0 {
					break
				}
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	lower := half(points)
	slices.Reverse(points)
	return append(lower, half(points)...)
}

// survival returns P(max T > x) on df degrees of freedom.
func (s *spatial) survival(df, x float64) float64 {
	return scaleMixture(df, func(v float64) float64 {
		switch w := x * v; {
		case w >= oneFactorTop:
			return math.Log(s.times*float64(len(s.cones))) + logNormalTail(w)
		case w < s.upper.lo:
			return 0
		default:
			return math.Min(0, s.upper.at(w))
		}
	})
}

// logTail computes log P(max > w).
func (s *spatial) logTail(w float64) float64 {
	tail := normalTail(w)
	sum := 0.0
	for _, c := range s.cones {
		if c.whole {
			return logNormalTail(w)
		}
		for _, a := range c.arcs {
			sum += a.integral(w, tail)
		}
	}
	return math.Log(s.times * sum / (2 * math.Pi))
}

// integral is the part of an arc, by Gauss's rule on pieces that are short beside the width of the peak
// for large w, and beside the distance from where M is zero: close to there cos θ changes within
// 1/reach, and Q(w / cos θ) sooner still for small w.
func (a arc) integral(w, tail float64) float64 {
	longest := 1 / (1.5 + 0.4*math.Abs(w))
	shortest := 0.3 * math.Min(1, math.Abs(w)+1e-4) / (1 + a.reach)
	var over func(lo, hi float64) float64
	over = func(lo, hi float64) float64 {
		mid := (lo + hi) / 2
		zero := math.Pi * math.Abs(math.Remainder((mid-a.from)/math.Pi-0.5, 1))
		if hi-lo > math.Min(longest, shortest+0.6*zero) {
			return over(lo, mid) + over(mid, hi)
		}
		return a.piece(lo, hi, w, tail)
	}
	return over(a.lo, a.hi)
}

// piece is Gauss's rule for the integrand on [lo, hi].
func (a arc) piece(lo, hi, w, tail float64) float64 {
	sum := 0.0
	for i, node := range gaussNode {
		m := a.reach * math.Cos(lo+(hi-lo)*node-a.from)
		cos := m / math.Sqrt(1+m*m)
		value := tail
		switch {
		case w >= 0 && m > 0:
			value -= cos * normalTail(w/cos)
		case w < 0 && m > 0:
			value = (1 - cos) / 2
		case w < 0 && m < 0:
			value = 0.5 - cos*(0.5-normalTail(w/cos))
		case w < 0:
			value = 0.5
		}
		sum += gaussWeight[i] * value
	}
	return sum * (hi - lo)
}
