package compare

import (
	"math"

	"fairrun/stats/law"
)

// Kept is a family that keeps the critical values it was asked for: the search for
// further replicates asks for the same ones for each comparison, and those of a
// [Joint] family are dear. It is not safe for concurrent use. Make it with [Keep].
//
// Where the law of a Joint family is sampled, which takes a tenth of a second a value, critical values are
// interpolated over degrees of freedom from the first ones asked for upwards: to 2e-5, less than the sampling leaves open.
type Kept struct {
	Family
	critical map[asked]float64
	over     map[float64]*overDF // of each alpha
}

type asked struct{ alpha, df float64 }

// Keep returns the family with a memory of its own.
func Keep(f Family) Kept { return Kept{f, map[asked]float64{}, map[float64]*overDF{}} }

// Critical implements [Family].
func (f Kept) Critical(alpha, df float64) float64 {
	at := asked{alpha, df}
	x, ok := f.critical[at]
	if !ok {
		x = f.find(alpha, df)
		f.critical[at] = x
	}
	return x
}

// find works a critical value out.
func (f Kept) find(alpha, df float64) float64 {
	of, joint := f.Family.(Joint)
	if !joint || !(df > 0) {
		return f.Family.Critical(alpha, df)
	}
	over := f.over[alpha]
	if over == nil {
		x, bound := law.MultivariateT{Corr: of.Corr, DF: df}.UpperQuantile(alpha, !of.OneSided)
		over = newOverDF(of, alpha, df, bound > sampled*math.Abs(x))
		f.over[alpha] = over
		return x
	}
	return over.at(df)
}

// sampled is the relative bound of a critical value from which its law is one that is sampled.
const sampled = 1e-6

// overDF are the critical values of a family at one level, over degrees of freedom.
type overDF struct {
	critical func(df float64) float64
	most     float64   // of 1/df; beyond, and where that is 0, values are worked out one by one
	log      []float64 // log critical value at the zeros of a Chebyshev polynomial in 1/df; nil until it is needed
}

// dfNodes is the number of degrees of freedom between which critical values are interpolated.
const dfNodes = 8

// newOverDF begins with the fewest degrees of freedom; a third as many, if two or more, are still interpolated.
func newOverDF(f Family, alpha, df float64, dear bool) *overDF {
	o := &overDF{critical: func(df float64) float64 { return f.Critical(alpha, df) }}
	if dear {
		o.most = min(3/df, 0.5)
	}
	return o
}

// node is 1/df at a zero of the Chebyshev polynomial.
func (o *overDF) node(k int) float64 {
	return o.most / 2 * (1 - math.Cos(math.Pi*(float64(k)+0.5)/dfNodes))
}

// at returns the critical value at so many degrees of freedom, by the barycentric formula (Berrut & Trefethen 2004, SIAM
// Review 46: 501-517).
func (o *overDF) at(df float64) float64 {
	x := 1 / df
	if x > o.most {
		return o.critical(df)
	}
	if o.log == nil {
		for k := range dfNodes {
			o.log = append(o.log, math.Log(o.critical(1/o.node(k))))
		}
	}
	over, under := 0.0, 0.0
	for k, v := range o.log {
		off := x - o.node(k)
		if off == 0 {
			return math.Exp(v)
		}
		w := math.Sin(math.Pi*(float64(k)+0.5)/dfNodes) / off
		if k%2 == 1 {
			w = -w
		}
		over, under = over+w*v, under+w
	}
	return math.Exp(over / under)
}
