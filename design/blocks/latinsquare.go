package blocks

import (
	"math"

	"fairrun/design/lot"
)

// Latin is a walk over the Latin squares of a size by the moves of Jacobson, M. T. & Matthews, P.
// (1996, Journal of Combinatorial Designs 4, 405–437). A square is a set of triples (row, column,
// symbol) with exactly one on each line, that is for any two of the three; the walk passes through
// improper squares too, in which one triple counts −1 and each of the three lines through it holds
// two others. From every square, proper or not, each move is equally likely, so all proper squares
// are visited equally often in the long run.
type Latin struct {
	n      int
	line   [3][]int // line[d][u·n + v]: coordinate d of the triple on the line whose other coordinates are u, v in order
	proper bool
	bad    [3]int // the triple that counts −1
	second [3]int // on each line through it, the triple besides the one in line
	perm   []int
	Square []int // by rows, after Draw
}

// NewLatin returns a walk over the squares of size n.
func NewLatin(n int) *Latin {
	l := &Latin{n: n, perm: make([]int, n), Square: make([]int, n*n)}
	for d := range l.line {
		l.line[d] = make([]int, n*n)
	}
	return l
}

// at returns the place of line d through the triple.
func (l *Latin) at(d int, x [3]int) *int {
	switch d {
	case 0:
		return &l.line[0][x[1]*l.n+x[2]]
	case 1:
		return &l.line[1][x[0]*l.n+x[2]]
	}
	return &l.line[2][x[0]*l.n+x[1]]
}

// Draw fills l.Square, by rows, with a random Latin square. The walk starts at the square of
// addition modulo n, is left when it has come to a proper square for the 3n-th time, and rows,
// columns and symbols are then shuffled, so that only the isotopy class depends on the walk. In
// 30,000 squares of 5 to 9 the number of two-by-two subsquares is then distributed as after 3n²
// times; after n/2 it is not. A randomisation test needs no more than that each draw is made in the
// same way.
func (l *Latin) Draw(src *lot.Stream) {
	n := l.n
	for r := range n {
		for c := range n {
			x := [3]int{r, c, (r + c) % n}
			for d := range x {
				*l.at(d, x) = x[d]
			}
		}
	}
	l.proper = true
	if n > 3 { // smaller squares are of one class
		for visits := 0; visits < 3*n; {
			l.move(src)
			if l.proper {
				visits++
			}
		}
	}
	copy(l.Square, l.line[2])
	l.exchangeSymbols(src)
	l.exchangeRows(src)
	l.exchangeColumns(src)
}

// move makes one move. From a proper square it starts at a triple x that counts 0, any of them, and
// from an improper one at that which counts −1. On each line through x it takes a triple that
// counts 1, either of the two of an improper square, which gives coordinates y. Of the cube between
// x and y, corners with an even number of coordinates from y gain 1 and the others lose 1.
func (l *Latin) move(src *lot.Stream) {
	n := l.n
	x := l.bad
	var y, rest [3]int // taken, and what then remains on the line through x
	if l.proper {
		x[0], x[1] = int(src.Below(uint64(n))), int(src.Below(uint64(n)))
		x[2] = (*l.at(2, x) + 1 + int(src.Below(uint64(n-1)))) % n
		for d := range x {
			y[d], rest[d] = *l.at(d, x), x[d]
		}
	} else {
		choice := src.Below(8)
		for d := range x {
			y[d], rest[d] = *l.at(d, x), l.second[d]
			if choice>>d&1 == 1 {
				y[d], rest[d] = rest[d], y[d]
			}
		}
	}
	l.proper = *l.at(0, y) == y[0]
	for d := range x {
		*l.at(d, x) = rest[d]
		// Lines with one other coordinate from y.
		for e := range x {
			if e != d {
				z := x
				z[e] = y[e]
				*l.at(d, z) = y[d]
			}
		}
		// The line with both: y has gone from it and x has come, or y counts −1 and x has joined
		// the triple that was there.
		if l.proper {
			*l.at(d, y) = x[d]
		}
	}
	l.bad, l.second = y, x
}

func (l *Latin) exchangeSymbols(src *lot.Stream) {
	l.shuffle(src)
	for i, s := range l.Square {
		l.Square[i] = l.perm[s]
	}
}

func (l *Latin) exchangeRows(src *lot.Stream) {
	n := l.n
	for i := n; i > 1; i-- {
		j := int(src.Below(uint64(i)))
		for c := range n {
			l.Square[(i-1)*n+c], l.Square[j*n+c] = l.Square[j*n+c], l.Square[(i-1)*n+c]
		}
	}
}

func (l *Latin) exchangeColumns(src *lot.Stream) {
	n := l.n
	for i := n; i > 1; i-- {
		j := int(src.Below(uint64(i)))
		for r := range n {
			l.Square[r*n+i-1], l.Square[r*n+j] = l.Square[r*n+j], l.Square[r*n+i-1]
		}
	}
}

func (l *Latin) shuffle(src *lot.Stream) {
	for i := range l.perm {
		l.perm[i] = i
	}
	lot.Shuffle(src, l.perm)
}

// LatinSquares returns the number of Latin squares of size n, exactly up to 6.
func LatinSquares(n int) lot.Count {
	c := lot.Count{Log10: lot.RoundLog(log10Squares(n))}
	if exact := [...]uint64{1, 1, 2, 12, 576, 161280, 812851200}; n < len(exact) {
		c.Exact = exact[n]
	}
	return c
}

// log10Squares returns the logarithm of the number of Latin squares of size n: counted up to 11
// (McKay, B. D. & Wanless, I. M. 2005, Annals of Combinatorics 9), beyond that the lower bound
// n!²ⁿ/n^(n²) (van Lint, J. H. & Wilson, R. M., A Course in Combinatorics, theorem 17.2).
func log10Squares(n int) float64 {
	counted := []float64{1, 1, 2, 12, 576, 161280, 812851200, 61479419904000, 108776032459082956800,
		5524751496156892842531225600, 9982437658213039871725064756920320000, 776966836171770144107444346734230682311065600000}
	if n < len(counted) {
		return math.Log10(counted[n])
	}
	return 2*float64(n)*lot.Factorial(n).Log10 - float64(n)*float64(n)*math.Log10(float64(n))
}
