package mixed

import (
	"math"

	"fairrun/stats/linmod"

	"gonum.org/v1/gonum/floats"
)

// basis is an orthonormal basis of the fixed part: X_j = Σ_k coord[j][k] q_k.
type basis struct {
	q           [][]float64
	coord       [][]float64 // of each column of the design
	independent []int       // the columns that each brought a vector of the basis, in order
	dependent   []int
}

func (b *basis) rank() int { return len(b.q) }

// orthogonalise builds the basis by the Gram-Schmidt process, each column twice,
// which leaves it orthogonal to working precision (Giraud, Langou & Rozložník
// 2005, Computers and Mathematics with Applications 50: 1069-1075). It takes the place of
// the columns, which are gone afterwards: of a million rows each is 8 MB.
func orthogonalise(c *linmod.Columns) *basis {
	b := &basis{coord: make([][]float64, len(c.X))}
	for j, v := range c.X {
		r := b.takeOut(v)
		length := floats.Norm(v, 2)
		if len(b.q) == len(v) || length <= linmod.DependentShare*c.Scale[j] {
			b.dependent = append(b.dependent, j)
			b.coord[j] = r
			continue
		}
		floats.Scale(1/length, v)
		b.coord[j] = append(r, length)
		b.independent = append(b.independent, j)
		b.q = append(b.q, v)
	}
	c.X = nil
	for j, r := range b.coord {
		b.coord[j] = append(r, make([]float64, b.rank()-len(r))...)
	}
	return b
}

// takeOut subtracts from v its projection on the basis and returns the
// coordinates of that.
func (b *basis) takeOut(v []float64) []float64 {
	r := make([]float64, len(b.q), len(b.q)+1)
	for range 2 {
		for k, q := range b.q {
			d := floats.Dot(q, v)
			floats.AddScaled(v, -d, q)
			r[k] += d
		}
	}
	return r
}

// function returns the weights on the coordinates of the response that estimate
// the given weighted sum of coefficients, what of it each dependent column says
// beyond, and the size that this is to be judged against.
func (b *basis) function(weight []float64) (u, outside []float64, size float64) {
	u = make([]float64, b.rank())
	for i, j := range b.independent {
		r := b.coord[j]
		u[i] = (weight[j] - floats.Dot(r[:i], u[:i])) / r[i]
	}
	outside = make([]float64, len(b.dependent))
	for i, j := range b.dependent {
		r := b.coord[j]
		outside[i] = weight[j] - floats.Dot(r, u)
		s := 1 + math.Abs(weight[j])
		for k := range u {
			s += math.Abs(u[k] * r[k])
		}
		size = max(size, s)
	}
	return u, outside, size
}

// sum returns the coordinates of the sum of some columns.
func (b *basis) sum(set []int) []float64 {
	r := make([]float64, b.rank())
	for _, j := range set {
		floats.Add(r, b.coord[j])
	}
	return r
}
