package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"fairrun/stats/linmod"
)

// weightTolerance is the part of the weights of a contrast that rounding may leave
// of a sum of zero.
const weightTolerance = 1e-14

const panicWeights = "mixed: a contrast needs one weight for each mean"

// Means holds the adjusted means of all combinations of some factors.
type Means struct {
	Levels [][]int // of each mean: an index into the levels of each factor asked for
	N      []int   // of each mean: rows used with those levels

	r       *Result
	factors []int       // asked for; nil for points
	u       [][]float64 // of each mean: weights on the coordinates of the fixed part; nil for a level without a row
	outside [][]float64 // what of it lies outside the row space
	size    []float64
}

// Means returns the adjusted means of all combinations of the given factors,
// which are indexes into Model.Fixed.Factors, as linmod.Result.Means defines
// them. They hold for levels of the random factors like those seen: their
// covariances are those of the mixed model. Errors and panics are those of
// linmod.
func (r *Result) Means(factors ...int) (*Means, error) {
	rows, err := r.columns.Means(factors...)
	if err != nil {
		return nil, err
	}
	m := r.take(rows)
	m.factors = factors
	return m, nil
}

// At returns what the model expects at some points, as linmod.Result.At defines it. Errors and panics
// are those of linmod.
func (r *Result) At(points []linmod.Point) (*Means, error) {
	rows, err := r.columns.At(points)
	if err != nil {
		return nil, err
	}
	return r.take(rows), nil
}

// take finds the coordinates of some means.
func (r *Result) take(rows *linmod.MeanRows) *Means {
	k := len(rows.N)
	m := &Means{Levels: rows.Levels, N: rows.N, r: r, u: make([][]float64, k), outside: make([][]float64, k), size: make([]float64, k)}
	for i, w := range rows.Weight {
		if w != nil {
			m.u[i], m.outside[i], m.size[i] = r.basis.function(w)
		}
	}
	return m
}

// Estimates holds estimated contrasts.
type Estimates struct {
	Value     []float64     // NaN where not estimable
	Cov       *mat.SymDense // covariance matrix, σ² included; NaN where not estimable; empty for no contrasts
	DF        []float64     // of each contrast by itself; NaN where not estimable
	Estimable []bool
}

// SE returns the standard error of contrast i, NaN where it is not estimable.
func (e *Estimates) SE(i int) float64 { return math.Sqrt(e.Cov.At(i, i)) }

// All returns the means themselves.
func (m *Means) All() *Estimates {
	c := make([][]float64, len(m.N))
	for k := range c {
		c[k] = make([]float64, len(m.N))
		c[k][k] = 1
	}
	return m.Contrasts(c)
}

// Contrasts returns weighted sums of the means, one for each row of c, which
// holds a weight for each mean. The weights need not add to zero. A contrast may
// be estimable although the means in it are not. A contrast whose weights are all
// zero is 0, with variance 0 and the degrees of freedom of the residual.
//
// Contrasts panics if a row of c is not as long as there are means.
func (m *Means) Contrasts(c [][]float64) *Estimates {
	n, r := len(c), m.r
	e := &Estimates{Value: make([]float64, n), DF: make([]float64, n), Estimable: make([]bool, n), Cov: &mat.SymDense{}}
	u := make([][]float64, n)
	for i, weights := range c {
		if len(weights) != len(m.N) {
			panic(panicWeights)
		}
		var base float64
		u[i], base, e.Estimable[i] = m.combine(weights)
		if !e.Estimable[i] {
			e.Value[i], e.DF[i] = math.NaN(), math.NaN()
			continue
		}
		e.Value[i] = base*r.centre + floats.Dot(u[i], r.beta)
		e.DF[i] = float64(r.DF)
		if quadratic(u[i], r.kr.phi) > 0 {
			e.DF[i] = r.df(u[i])
		}
	}
	if n == 0 {
		return e
	}
	e.Cov = mat.NewSymDense(n, nil)
	var au mat.VecDense
	for i := range n {
		if e.Estimable[i] {
			au.MulVec(r.kr.adjusted, mat.NewVecDense(r.Rank, u[i]))
		}
		for j := i; j < n; j++ {
			v := math.NaN()
			if e.Estimable[i] && e.Estimable[j] {
				v = r.Sigma2 * mat.Dot(&au, mat.NewVecDense(r.Rank, u[j]))
			}
			e.Cov.SetSym(i, j, v)
		}
	}
	return e
}

// combine returns the weights of a contrast on the coordinates, their sum over
// the means, and whether it lies in the row space of the design.
func (m *Means) combine(weights []float64) (u []float64, base float64, ok bool) {
	u = make([]float64, m.r.Rank)
	out := make([]float64, len(m.r.basis.dependent))
	var size, total float64
	for k, w := range weights {
		if w == 0 {
			continue
		}
		if m.u[k] == nil {
			return nil, 0, false
		}
		floats.AddScaled(u, w, m.u[k])
		floats.AddScaled(out, w, m.outside[k])
		base += w
		total += math.Abs(w)
		size += math.Abs(w) * m.size[k]
	}
	for _, v := range out {
		if math.Abs(v) > linmod.OutsideShare*size {
			return nil, 0, false
		}
	}
	if math.Abs(base) <= weightTolerance*total {
		base = 0
	}
	return u, base, true
}
