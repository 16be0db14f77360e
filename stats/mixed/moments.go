package mixed

import (
	"fmt"
	"slices"

	"fairrun/stats/linmod"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

const maxEntries = 20_000_000 // numbers in any one set of matrices: 160 MB

// grouping is a random factor cut down to the levels that have a used row.
type grouping struct {
	code  []int32 // of each used row
	count []int   // rows of each level
	level []int32 // of each level of the factor: its number here, -1 where it has no row
}

func newGrouping(f *linmod.Factor, rows []int32) grouping {
	g := grouping{code: make([]int32, len(rows)), level: make([]int32, len(f.Levels))}
	for _, row := range rows {
		g.level[f.Code[row]]++
	}
	for l, n := range g.level {
		g.level[l] = -1
		if n > 0 {
			g.level[l] = int32(len(g.count))
			g.count = append(g.count, int(n))
		}
	}
	for i, row := range rows {
		g.code[i] = g.level[f.Code[row]]
	}
	return g
}

// moments holds all that the criterion needs of the data: cross products of
//
//	U = [Z X y],
//
// Z the indicators of all random factors but the one eliminated, X an orthonormal
// basis of the fixed part or of as much of it as they touch, y the response with its projection on the fixed part taken out and
// scaled to a mean square of 1; split into what lies within and between the levels
// of the factor eliminated.
type moments struct {
	n, p, q int // rows; columns of X and of Z
	df      int // rows less the rank of the fixed part
	first   int // the factor eliminated
	factor  []int
	from    []int // columns of factor i in Z are from[i] … from[i]+levels[i]-1
	levels  []int

	within *mat.SymDense
	size   []float64       // the different numbers of rows in a level of the factor eliminated
	repeat []float64       // how many levels have that size
	sums   []*mat.SymDense // Σ u u' over those levels, u the sums of the rows of U
}

// cols returns the number of columns of U.
func (m *moments) cols() int { return m.q + m.p + 1 }

// newMoments eliminates the given factor; rank is that of the fixed part.
func newMoments(x [][]float64, rank int, y []float64, random []grouping, first int) (*moments, error) {
	m := &moments{n: len(y), p: len(x), df: len(y) - rank, first: first, from: make([]int, len(random)), levels: make([]int, len(random))}
	for i := range random {
		m.levels[i] = len(random[i].count)
	}
	for i, l := range m.levels {
		if i != m.first {
			m.from[i] = m.q
			m.q += l
			m.factor = append(m.factor, slices.Repeat([]int{i}, l)...)
		}
	}
	g := &random[m.first]
	sizes := slices.Clone(g.count)
	slices.Sort(sizes)
	sizes = slices.Compact(sizes)
	c := m.cols()
	if c > maxEntries || c*max(len(g.count), c*(len(sizes)+10)) > maxEntries {
		return nil, fmt.Errorf("%d levels beside %d others: %w", m.levels[m.first], m.q, ErrTooLarge)
	}
	columns := append(slices.Clone(x), y)
	between := m.levelSums(columns, random)
	m.within = mat.NewSymDense(c, nil)
	m.takeWithin(columns, random, between)
	for _, s := range sizes {
		sum := mat.NewSymDense(c, nil)
		var repeat float64
		for l, n := range g.count {
			if n == s {
				repeat++
				addSquare(sum, 1, between[l])
			}
		}
		m.size = append(m.size, float64(s))
		m.repeat = append(m.repeat, repeat)
		m.sums = append(m.sums, sum)
	}
	return m, nil
}

// levelSums returns the sums of the rows of U in each level of the factor
// eliminated.
func (m *moments) levelSums(columns [][]float64, random []grouping) [][]float64 {
	g := &random[m.first]
	data := make([]float64, len(g.count)*m.cols())
	sums := make([][]float64, len(g.count))
	for l := range sums {
		sums[l] = data[l*m.cols() : (l+1)*m.cols()]
	}
	for i := range random {
		if i == m.first {
			continue
		}
		for row, l := range g.code {
			sums[l][m.from[i]+int(random[i].code[row])]++
		}
	}
	for k, x := range columns {
		for row, l := range g.code {
			sums[l][m.q+k] += x[row]
		}
	}
	return sums
}

// takeWithin sets the cross products of deviations from the level means.
// Deviations, not differences of sums of squares: a column that is constant in
// each level has none.
func (m *moments) takeWithin(columns [][]float64, random []grouping, sums [][]float64) {
	g := &random[m.first]
	const stretch = 4096 // rows at a time: their deviations need not all be kept
	deviations := make([][]float64, len(columns))
	for k := range deviations {
		deviations[k] = make([]float64, min(stretch, m.n))
	}
	for start := 0; start < m.n; start += stretch {
		code := g.code[start:min(start+stretch, m.n)]
		for k, x := range columns {
			d := deviations[k][:len(code)]
			for i, l := range code {
				d[i] = x[start+i] - sums[l][m.q+k]/float64(g.count[l])
			}
			for h := range k + 1 {
				m.within.SetSym(m.q+h, m.q+k, m.within.At(m.q+h, m.q+k)+floats.Dot(deviations[h][:len(code)], d))
			}
			for f := range random {
				if f == m.first {
					continue
				}
				for i, c := range random[f].code[start : start+len(code)] {
					z := m.from[f] + int(c)
					m.within.SetSym(z, m.q+k, m.within.At(z, m.q+k)+d[i])
				}
			}
		}
	}
	for row := range m.n {
		for i := range random {
			for j := i; j < len(random); j++ {
				if i != m.first && j != m.first {
					a, b := m.from[i]+int(random[i].code[row]), m.from[j]+int(random[j].code[row])
					m.within.SetSym(a, b, m.within.At(a, b)+1)
				}
			}
		}
	}
	for l, u := range sums {
		addSquare(m.within, -1/float64(g.count[l]), u[:m.q])
	}
}

// addSquare adds a·uu' to the upper left part of s, minding that u is mostly zero.
func addSquare(s *mat.SymDense, a float64, u []float64) {
	raw := s.RawSymmetric()
	for i, v := range u {
		if v == 0 {
			continue
		}
		floats.AddScaled(raw.Data[i*raw.Stride+i:i*raw.Stride+len(u)], a*v, u[i:])
	}
}
