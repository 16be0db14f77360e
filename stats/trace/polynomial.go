package trace

import "math"

// local is a polynomial c0 + c1·x + … fitted to rows by weighted least squares,
// x = t − centre.
type local struct {
	centre float64
	scale  float64 // x is divided by it inside
	c      [4]float64
	degree int
	rows   int
	weight float64 // Σ of the weights
	noise2 float64 // residual variance
	inv    [4][4]float64
}

// fitLocal fits a polynomial of degree 1, 2 or 3. Weights nil are all 1. ok is false
// where the rows do not determine it.
func fitLocal(t, v, weights []float64, centre float64, degree int) (p local, ok bool) {
	p = local{centre: centre, degree: degree, rows: len(t)}
	if len(t) <= degree {
		return p, false
	}
	for _, x := range t {
		p.scale = max(p.scale, math.Abs(x-centre))
	}
	if p.scale == 0 {
		return p, false
	}
	v0 := v[len(v)/2] // taken off, so that large values do not cost digits
	k := degree + 1
	var moment [7]float64
	var right [4]float64
	for i := range t {
		x := (t[i] - centre) / p.scale
		w := 1.0
		if weights != nil {
			w = weights[i]
		}
		y := v[i] - v0
		for d := range 2*degree + 1 {
			moment[d] += w
			if d < k {
				right[d] += w * y
			}
			w *= x
		}
	}
	p.weight = moment[0]
	var a [4][4]float64
	for i := range k {
		for j := range k {
			a[i][j] = moment[i+j]
		}
	}
	if !invert(&a, k) {
		return p, false
	}
	p.inv = a
	for i := range k {
		for j := range k {
			p.c[i] += a[i][j] * right[j]
		}
	}
	var sse float64
	for i := range t {
		r := v[i] - v0 - p.at(t[i])
		if weights != nil {
			r *= math.Sqrt(weights[i])
		}
		sse += r * r
	}
	p.c[0] += v0
	if len(t) > k {
		p.noise2 = sse / (p.weight * float64(len(t)-k) / float64(len(t)))
	}
	return p, true
}

// invert inverts a symmetric positive k×k matrix in place (Gauss and Jordan).
func invert(a *[4][4]float64, k int) bool {
	for p := range k {
		if !(math.Abs(a[p][p]) > 1e-12*math.Abs(a[0][0])) && p > 0 || a[p][p] == 0 {
			return false
		}
		d := 1 / a[p][p]
		a[p][p] = 1
		for j := range k {
			a[p][j] *= d
		}
		for i := range k {
			if i == p {
				continue
			}
			f := a[i][p]
			a[i][p] = 0
			for j := range k {
				a[i][j] -= f * a[p][j]
			}
		}
	}
	return true
}

// at returns the polynomial at an instant.
func (p *local) at(t float64) float64 {
	x := (t - p.centre) / p.scale
	return p.c[0] + x*(p.c[1]+x*(p.c[2]+x*p.c[3]))
}

// slope returns its first derivative.
func (p *local) slope(t float64) float64 {
	x := (t - p.centre) / p.scale
	return (p.c[1] + x*(2*p.c[2]+3*x*p.c[3])) / p.scale
}

// bend returns its second derivative.
func (p *local) bend(t float64) float64 {
	x := (t - p.centre) / p.scale
	return (2*p.c[2] + 6*x*p.c[3]) / p.scale / p.scale
}

// lever returns x₀ᵀ(XᵀX)⁻¹x₀, the variance of the value at an instant in
// units of the noise's.
func (p *local) lever(t float64) float64 {
	x := (t - p.centre) / p.scale
	power := [4]float64{1, x, x * x, x * x * x}
	var sum float64
	for i := range p.degree + 1 {
		for j := range p.degree + 1 {
			sum += power[i] * power[j] * p.inv[i][j]
		}
	}
	return sum
}

// df returns the residual degrees of freedom.
func (p *local) df() float64 { return float64(p.rows - p.degree - 1) }

// crosses returns the instant nearest to the centre at which a quadratic rises
// through a value, within reach of the centre.
func (p *local) crosses(value, reach float64) (float64, bool) {
	a, b, c := p.c[2], p.c[1], p.c[0]-value
	best, found := 0.0, false
	try := func(x float64) {
		if t := x * p.scale; b+2*a*x > 0 && math.Abs(t) <= reach && (!found || math.Abs(t) < math.Abs(best)) {
			best, found = t, true
		}
	}
	disc := b*b - 4*a*c
	if disc >= 0 {
		q := -(b + math.Copysign(math.Sqrt(disc), b)) / 2
		if q != 0 {
			try(c / q)
		}
		if a != 0 {
			try(q / a)
		}
	}
	return p.centre + best, found
}

// operator returns what a row at t with weight w counts in the derivative of the given
// order (0, 1 or 2) at an instant: the value there is the sum of it times the rows' values.
func (p *local) operator(t, w, at float64, order int) float64 {
	x, x0 := (t-p.centre)/p.scale, (at-p.centre)/p.scale
	row := [4]float64{1, x, x * x, x * x * x}
	var target [4]float64
	switch order {
	case 0:
		target = [4]float64{1, x0, x0 * x0, x0 * x0 * x0}
	case 1:
		target = [4]float64{0, 1, 2 * x0, 3 * x0 * x0}
	default:
		target = [4]float64{0, 0, 2, 6 * x0}
	}
	var sum float64
	for i := range p.degree + 1 {
		for j := range p.degree + 1 {
			sum += target[i] * p.inv[i][j] * row[j]
		}
	}
	return sum * w / math.Pow(p.scale, float64(order))
}
