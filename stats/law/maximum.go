package law

import (
	"encoding/binary"
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// maximum is the law of the largest of several t without product structure, in the best way that its
// matrix allows.
type maximum struct {
	n        float64 // events: twice the variables if twoSided
	twoSided bool
	spatial  *spatial     // one of these two, or neither
	near     *nearProduct //
	union    func() *union

	mu        sync.Mutex
	quantiles map[[2]float64][2]float64 // of df and p: x and its bound, where they are estimates
}

// maxima keeps the laws asked for last: responses measured on the same runs ask for the same ones.
var maxima = struct {
	sync.Mutex
	law map[string]*maximum
}{law: map[string]*maximum{}}

const maximaKept = 256

// corrGrid is the inverse of a difference between correlations that no answer shows.
const corrGrid = 1 << 40

// lawOf returns the law for this matrix, which is made once.
func lawOf(corr mat.Symmetric, twoSided bool) *maximum {
	grid, key := rounded(corr)
	if twoSided {
		key = append(key, 2)
	}
	maxima.Lock()
	m := maxima.law[string(key)]
	maxima.Unlock()
	if m != nil {
		return m
	}
	m = newMaximum(grid, twoSided)
	maxima.Lock()
	defer maxima.Unlock()
	if len(maxima.law) >= maximaKept {
		clear(maxima.law)
	}
	maxima.law[string(key)] = m
	return m
}

// rounded returns the matrix with correlations rounded to the grid, so that matrices which differ
// by the rounding of their making have the same answer, and its elements as a key.
func rounded(corr mat.Symmetric) (*mat.SymDense, []byte) {
	n := corr.SymmetricDim()
	out := mat.NewSymDense(n, nil)
	key := make([]byte, 0, 4*n*(n+1))
	for i := range n {
		for j := range i {
			r := math.Round(corr.At(i, j)*corrGrid) / corrGrid
			out.SetSym(i, j, r)
			key = binary.LittleEndian.AppendUint64(key, math.Float64bits(r))
		}
		out.SetSym(i, i, 1)
	}
	return out, key
}

// newMaximum looks for the best way.
func newMaximum(corr mat.Symmetric, twoSided bool) *maximum {
	m := &maximum{n: float64(corr.SymmetricDim()), twoSided: twoSided, quantiles: map[[2]float64][2]float64{}}
	if twoSided {
		m.n *= 2
	}
	m.union = sync.OnceValue(func() *union { return newUnion(corr, twoSided) })
	if m.spatial = newSpatial(corr, twoSided); m.spatial == nil {
		m.union() // panics if the matrix is none
		m.near = newNearProduct(corr, twoSided)
	}
	return m
}

// smooth returns P(max > x) where it is no estimate, and a bound for its error, relative to it.
func (m *maximum) smooth(df float64) (tail func(x float64) float64, bound func(x, p float64) float64) {
	switch {
	case m.spatial != nil:
		return func(x float64) float64 { return m.spatial.survival(df, x) },
			func(x, p float64) float64 { return p * factorError }
	case m.near != nil:
		return func(x float64) float64 { return m.near.survival(df, x) },
			func(x, p float64) float64 { return m.near.bound(df, x, p) }
	}
	return nil, nil
}

// worstBound is how good, in parts of p, the series has to be.
const worstBound = 1e-4

// survival returns P(max > x) and a bound for its error.
func (m *maximum) survival(df, x float64) (p, bound float64) {
	if tail, off := m.smooth(df); tail != nil {
		p = tail(x)
		if bound = off(x, p); bound <= worstBound*p {
			return math.Min(1, p), bound
		}
	}
	p, bound, _ = m.union().adaptive(df, x)
	return math.Min(1, p), bound
}

// upperQuantile returns the x with P(max > x) = p and a bound for its error.
func (m *maximum) upperQuantile(df, p float64) (x, bound float64) {
	start := T{DF: df}.UpperQuantile(math.Min(p/m.n, 0.4)) // Bonferroni's bound
	if tail, off := m.smooth(df); tail != nil {
		x = solveTail(p, start, tail)
		if bound = off(x, p); bound <= worstBound*p {
			const step = 1e-3
			v := math.Asinh(x)
			slope := (tail(math.Sinh(v-step)) - tail(math.Sinh(v+step))) / (2 * step)
			return x, bound/slope*math.Cosh(v) + math.Abs(x)*factorError
		}
	}
	m.mu.Lock()
	kept, ok := m.quantiles[[2]float64{df, p}]
	m.mu.Unlock()
	if ok {
		return kept[0], kept[1]
	}
	x, bound = m.union().quantile(df, p, start)
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.quantiles) >= maximaKept {
		clear(m.quantiles)
	}
	m.quantiles[[2]float64{df, p}] = [2]float64{x, bound}
	return x, bound
}

// solveTail returns the x at which a tail equals p, searching on the scale of asinh x, as far tails fall
// like a power of x.
func solveTail(p, start float64, tail func(x float64) float64) float64 {
	if p <= 0.5 {
		return math.Sinh(solveScore(math.Asinh(start), 0.02, p, func(v float64) float64 { return tail(math.Sinh(v)) }))
	}
	return math.Sinh(-solveScore(-math.Asinh(start), 0.1, 1-p, func(v float64) float64 { return 1 - tail(math.Sinh(-v)) }))
}
