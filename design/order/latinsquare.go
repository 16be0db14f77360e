package order

import "math"

// latin is a walk over the Latin squares of a size by the moves of Jacobson, M. T. & Matthews, P. (1996, Journal of
// Combinatorial Designs 4, 405–437). A square is a set of triples (row, column, symbol) with exactly one for any two
// of the three; the walk passes through improper squares too, in which one triple counts −1.
// From every square, proper or not, each move is equally likely, so all proper squares are visited equally often in the
// long run.
type latin struct {
	n      int
	symbol []int8 // n×n×n counts by row, column, symbol: −1, 0 or 1
	proper bool
	bad    [3]int // the triple that counts −1
	perm   []int
	square []int
}

func newLatin(n int) *latin {
	return &latin{n: n, symbol: make([]int8, n*n*n), perm: make([]int, n), square: make([]int, n*n)}
}

func (l *latin) cell(x [3]int) *int8 { return &l.symbol[(x[0]*l.n+x[1])*l.n+x[2]] }

// draw fills l.square, by rows, with a random Latin square. The walk starts at the square of addition modulo n, is left when it
// has come to a proper square for the n²th time, and rows, columns and symbols are then shuffled, so that only the
// isotopy class depends on the walk.
func (l *latin) draw(src *Source) {
	n := l.n
	clear(l.symbol)
	for r := range n {
		for c := range n {
			*l.cell([3]int{r, c, (r + c) % n}) = 1
		}
	}
	l.proper = true
	if n > 3 { // smaller squares are of one class
		for visits := 0; visits < n*n; {
			l.move(src)
			if l.proper {
				visits++
			}
		}
	}
	for r := range n {
		for c := range n {
			for s := range n {
				if *l.cell([3]int{r, c, s}) == 1 {
					l.square[r*n+c] = s
				}
			}
		}
	}
	l.exchangeSymbols(src)
	l.exchangeRows(src)
	l.exchangeColumns(src)
}

// move makes one move. From a proper square it starts at a triple that counts 0, from an improper one at that which counts −1. On each of the
// three lines through it, it takes a triple that counts 1, of which there is one, or two of an improper square to choose from;
// the counts of the cube that they span change by +1 and −1.
func (l *latin) move(src *Source) {
	x := l.bad
	if l.proper {
		for {
			for d := range x {
				x[d] = int(src.Below(uint64(l.n)))
			}
			if *l.cell(x) == 0 {
				break
			}
		}
	}
	y := x
	for d := range x {
		found := 0
		for v := range l.n {
			z := x
			z[d] = v
			if *l.cell(z) == 1 {
				found++
				if found == 1 || src.Below(2) == 0 {
					y[d] = v
				}
			}
		}
	}
	for corner := range 8 {
		z := x
		sign := int8(1)
		for d := range z {
			if corner>>d&1 == 1 {
				z[d] = y[d]
				sign = -sign
			}
		}
		*l.cell(z) += sign
	}
	l.proper = *l.cell(y) >= 0
	l.bad = y
}

func (l *latin) exchangeSymbols(src *Source) {
	l.shuffle(src)
	for i, s := range l.square {
		l.square[i] = l.perm[s]
	}
}

func (l *latin) exchangeRows(src *Source) {
	n := l.n
	for i := n; i > 1; i-- {
		j := int(src.Below(uint64(i)))
		for c := range n {
			l.square[(i-1)*n+c], l.square[j*n+c] = l.square[j*n+c], l.square[(i-1)*n+c]
		}
	}
}

func (l *latin) exchangeColumns(src *Source) {
	n := l.n
	for i := n; i > 1; i-- {
		j := int(src.Below(uint64(i)))
		for r := range n {
			l.square[r*n+i-1], l.square[r*n+j] = l.square[r*n+j], l.square[r*n+i-1]
		}
	}
}

func (l *latin) shuffle(src *Source) {
	for i := range l.perm {
		l.perm[i] = i
	}
	Shuffle(src, l.perm)
}

// log10Squares returns the logarithm of the number of Latin squares of size n: counted up to 11 (McKay, B. D. & Wanless, I. M. 2005, Annals of
// Combinatorics 9), beyond that the lower bound n!²ⁿ/n^(n²) (van Lint, J. H. & Wilson, R. M., A Course in Combinatorics, theorem 17.2).
func log10Squares(n int) float64 {
	counted := []float64{1, 1, 2, 12, 576, 161280, 812851200, 61479419904000, 108776032459082956800,
		5524751496156892842531225600, 9982437658213039871725064756920320000, 776966836171770144107444346734230682311065600000}
	if n < len(counted) {
		return math.Log10(counted[n])
	}
	return 2*float64(n)*relabellings(n).Log10 - float64(n)*float64(n)*math.Log10(float64(n))
}
