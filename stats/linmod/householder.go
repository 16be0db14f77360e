package linmod

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// DependentShare is the part of a column's length that must be left after projection
// on the columns before it for the column to count as independent of them.
const DependentShare = 1e-7

// matrix is a dense matrix by columns.
type matrix struct {
	rows, cols int
	data       []float64 // column j is data[j*rows:(j+1)*rows]
}

func newMatrix(rows, cols int) *matrix {
	return &matrix{rows, cols, make([]float64, rows*cols)}
}

func (m *matrix) col(j int) []float64 { return m.data[j*m.rows : (j+1)*m.rows] }

// triangle is the outcome of reduce: for the independent columns X_I of X,
// in order, X_I = Q R with R upper triangular.
type triangle struct {
	m           *matrix // column j holds the first Rank entries of Q'x_j
	independent []int   // column numbers
	dependent   []int
	z           []float64 // Q'y: the first rank entries belong to independent columns, in order
}

func (t *triangle) rank() int { return len(t.independent) }

// reduce overwrites x and y by Householder reflections until the independent
// columns of x are triangular. A column of which no more than the share DependentShare
// of its length scale[j] is left, once the independent columns before it are
// taken out, is set aside as dependent. gonum's QR factorisation either keeps
// such columns or reorders all of them; the order here is the model's.
func reduce(x *matrix, y, scale []float64) *triangle {
	t := &triangle{m: x, z: y}
	for j := range x.cols {
		k := len(t.independent)
		v := x.col(j)[k:]
		length := norm(v)
		if k == x.rows || length <= DependentShare*scale[j] {
			t.dependent = append(t.dependent, j)
			clear(v)
			continue
		}
		t.independent = append(t.independent, j)
		// The reflection I - v v'/h takes the column to -sign(v0)·length·e0.
		pivot := v[0]
		alpha := -math.Copysign(length, pivot)
		v[0] = pivot - alpha
		h := length * (length + math.Abs(pivot))
		for l := j + 1; l < x.cols; l++ {
			reflect(x.col(l)[k:], v, h)
		}
		reflect(y[k:], v, h)
		v[0] = alpha
		clear(v[1:])
	}
	return t
}

// reflect subtracts v (v'x)/h from x.
func reflect(x, v []float64, h float64) {
	if d := dot(v, x); d != 0 {
		addScaled(x, -d/h, v)
	}
}

// addScaled adds a·v to x.
func addScaled(x []float64, a float64, v []float64) { floats.AddScaled(x, a, v) }

// dot returns the inner product of x and y.
func dot(x, y []float64) float64 { return floats.Dot(x, y) }

// norm returns the Euclidean length of x, for entries far from the limits of the
// exponent.
func norm(x []float64) float64 { return math.Sqrt(dot(x, x)) }

// forward solves R'u = l in place for the independent entries of l, given in
// their order.
func (t *triangle) forward(l []float64) {
	for i, j := range t.independent {
		r := t.m.col(j)
		l[i] = (l[i] - dot(r[:i], l[:i])) / r[i]
	}
}

// backward solves R b = u in place.
func (t *triangle) backward(u []float64) {
	for i := len(t.independent) - 1; i >= 0; i-- {
		r := t.m.col(t.independent[i])
		u[i] /= r[i]
		addScaled(u[:i], -u[i], r[:i])
	}
}

// sumSquares returns the sum of squares of x.
func sumSquares(x []float64) float64 { return dot(x, x) }
