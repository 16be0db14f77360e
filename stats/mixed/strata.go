package mixed

import "gonum.org/v1/gonum/mat"

// Strata says what the variance of an estimated contrast rests on: a share of it is estimated by
// the residual, with its degrees of freedom, and the rest by what varies between the levels of
// the random factors, independently of the residual. In a balanced split plot these are the two mean
// squares of the classical analysis.
//
// With share s, the contrast has
//
//	1/df = s²/ResidualDF + (1-s)²/RestDF
//
// degrees of freedom (Satterthwaite 1946, Biometrics Bulletin 2: 110-114). Where RestDF is small
// and s is neither 0 nor 1 that is too many: when the mean square of the few is small by chance, the
// contrast looks both large and well founded.
type Strata struct {
	Share      float64 // of the variance, estimated by the residual: in [0, 1]
	ResidualDF float64
	RestDF     float64 // 0 where Share is 1
}

// Strata returns what the variance of the contrast with the given weights rests on, and false
// where the contrast cannot be estimated. With t the estimated residual variance and V that
// of the contrast, the residual's part is t·cov(V, t)/var(t), by the expected information.
//
// Strata panics if there is not one weight for each mean.
func (m *Means) Strata(weights []float64) (Strata, bool) {
	if len(weights) != len(m.N) {
		panic(panicWeights)
	}
	u, _, ok := m.combine(weights)
	if !ok {
		return Strata{}, false
	}
	in := m.r.kr
	last := len(in.slope) - 1 // the factor on V, which is the residual's variance
	g := mat.NewVecDense(last+1, nil)
	for i, s := range in.slope {
		g.SetVec(i, quadratic(u, s))
	}
	v := g.AtVec(last)
	alone := in.expected.At(last, last)
	if v == 0 {
		return Strata{Share: 1, ResidualDF: 2 / alone}, true
	}
	var wg mat.VecDense
	wg.MulVec(in.expected, g)
	part := min(max(wg.AtVec(last)/alone, 0), v)
	rest := v - part
	out := Strata{Share: part / v, ResidualDF: 2 / alone}
	if spread := mat.Dot(g, &wg) - part*part*alone; rest > negligibleShare*v && spread > 0 {
		out.RestDF = 2 * rest * rest / spread
	} else {
		out.Share = 1
	}
	return out, true
}

// negligibleShare is what rounding may leave of a part of a variance that is none.
const negligibleShare = 1e-9
