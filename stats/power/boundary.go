package power

import "math"

const (
	leastSpent = 1e-25 // a look that may spend no more than this concludes nothing
	farthest   = 16    // standard errors; P(|Z| > 16) = 1e-57
)

// walk is the law of a Brownian path B(t) at time t that has crossed no
// boundary so far, as masses m on quadrature nodes s. Z = B(t)/√t is the
// statistic of a look at information fraction t.
type walk struct {
	t    float64
	s, m []float64
}

// start returns a walk at time 0, all of it at 0.
func start() walk { return walk{s: []float64{0}, m: []float64{1}} }

// leaves returns the chance that the path has crossed nothing yet and lies
// beyond ±z standard errors at time t:
//
//	Σ m_i · [ Q((b − s_i − δ·dt)/√dt) + Q((b + s_i + δ·dt)/√dt) ],   b = z·√t, dt = t − w.t, δ = delta
//
// with Q the upper tail of the standard normal law. All terms are positive, so
// that small chances keep their digits.
func (w walk) leaves(z, t, delta float64) float64 {
	dt := t - w.t
	sd := math.Sqrt(dt)
	b := z * math.Sqrt(t)
	sum := 0.0
	for i, s := range w.s {
		s += delta * dt
		sum += w.m[i] * (above((b-s)/sd) + above((b+s)/sd))
	}
	return sum
}

// onward returns the walk at time t that stayed within ±z standard errors,
// ready for a look at time next:
//
//	g(x) = Σ m_i · φ((x − s_i − δ·dt)/√dt)/√dt,   |x| ≤ b
//
// on Gauss–Legendre panels no wider than the two steps around t can resolve
// (Armitage, McPherson & Rowe 1969; Jennison & Turnbull 2000, chapter 19).
func (w walk) onward(z, t, next, delta float64) walk {
	dt := t - w.t
	sd := math.Sqrt(dt)
	b := math.Min(z, farthest+math.Abs(delta)*math.Sqrt(t)) * math.Sqrt(t)
	panels := math.Ceil(2 * b / (2.5 * math.Min(sd, math.Sqrt(next-t))))
	x, weight := legendre()
	half := b / panels
	v := walk{t: t}
	for i := 0.0; i < panels; i++ {
		centre := -b + half*(2*i+1)
		for j := range x {
			at := centre + half*x[j]
			g := 0.0
			for k, s := range w.s {
				y := (at - s - delta*dt) / sd
				if y < 38 && y > -38 {
					g += w.m[k] * math.Exp(-y*y/2)
				}
			}
			v.s = append(v.s, at)
			v.m = append(v.m, g*half*weight[j]/(sd*math.Sqrt(2*math.Pi)))
		}
	}
	return v
}

// checkFractions panics unless fractions are positive and ascend.
func checkFractions(fractions []float64) {
	if len(fractions) == 0 {
		panic("power: a schedule has a look")
	}
	before := 0.0
	for _, t := range fractions {
		if !(t > before) || math.IsInf(t, 1) {
			panic("power: information fractions are positive and ascend")
		}
		before = t
	}
}
