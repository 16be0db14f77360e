package law

import "math"

// latticeGenerator is found by testdata/lattice.py.
const latticeGenerator = 2701

// lattice is a rank-1 lattice of Korobov's kind: point k is k (1, a, a², …)/n mod 1, n a power of
// two. Averages over it converge like n^-2 for smooth periodic functions; the
// baker's map |2u - 1| makes any smooth function periodic enough (Hickernell 2002, in Monte
// Carlo and Quasi-Monte Carlo Methods 2000, 274-289).
type lattice struct {
	points uint64
	step   []uint64 // a^d mod n
}

// newLattice has a power of two of points.
func newLattice(points, dims int) lattice {
	l := lattice{uint64(points), make([]uint64, dims)}
	z := uint64(1)
	for d := range l.step {
		l.step[d] = z
		z = z * latticeGenerator % l.points
	}
	return l
}

// at puts point k, shifted, into u.
func (l lattice) at(k int, shift, u []float64) {
	for d, z := range l.step {
		f := float64(uint64(k)*z%l.points)/float64(l.points) + shift[d]
		u[d] = f - math.Floor(f)
	}
}
