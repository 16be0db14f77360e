package linmod

import (
	"fmt"
	"math"
	"slices"
)

// Columns is the design matrix of a model, row by row and with nothing swept out,
// for methods that weight the rows differently from least squares. The columns
// come in the order of the terms: the constant, blocks, covariates, treatments.
// A factor has an indicator for each used level but the first, an interaction the
// products of those; a covariate is centred at its mean over the used rows.
type Columns struct {
	Rows  []int32     // the rows used, in an order of its own
	X     [][]float64 // X[j] is column j over those rows; X[0] is all ones
	Unit  []float64   // of each column: what to multiply it by to have it in the unit it was given in
	Scale []float64   // of each column: the length that its dependence on others is judged against
	Terms []Term

	design *design
	spans  [][2]int // of each of Terms: from … to-1 of the terms of design
}

// Term is a set of columns that enter a model together.
type Term struct {
	Name     string   // of an interaction: "A × B", see [TermName]
	Factors  []string // of a treatment term
	Kind     Kind
	From, To int // its columns are From … To-1
}

// Columns lays out the design matrix for the rows that have a response, every
// factor and every covariate. Errors and panics are those of Fit.
func (m Model) Columns(y []float64) (*Columns, error) {
	m.check(len(y))
	rows, err := m.complete(y)
	if err != nil {
		return nil, err
	}
	d, err := newDesign(m, rows, y)
	if err != nil {
		return nil, err
	}
	d.swept, d.terms, d.cols = -1, nil, 0
	if err := d.lay(); err != nil {
		return nil, err
	}
	if entries := float64(d.cols+1) * float64(len(rows)); entries > maxEntries || entries*float64(d.cols) > maxWork {
		return nil, fmt.Errorf("%d columns on %d rows: %w", d.cols, len(rows), ErrTooLarge)
	}
	return d.inFull(), nil
}

// inFull fills the columns.
func (d *design) inFull() *Columns {
	n := len(d.cells.rows)
	c := &Columns{design: d, Rows: d.cells.rows, X: make([][]float64, d.cols+1),
		Unit: make([]float64, d.cols+1), Scale: make([]float64, d.cols+1)}
	data := make([]float64, n*(d.cols+1))
	for j := range c.X {
		c.X[j] = data[j*n : (j+1)*n]
		c.Unit[j] = 1
	}
	for i := range n {
		c.X[0][i] = 1
	}
	for from, to := range d.together() {
		t, last := &d.terms[from], &d.terms[to-1]
		c.Terms = append(c.Terms, Term{d.title(t), d.names(t), t.kind, t.from + 1, last.from + 1 + last.cols})
		c.spans = append(c.spans, [2]int{from, to})
	}
	for i := range d.terms {
		t := &d.terms[i]
		for i, row := range c.Rows {
			if j, v := d.entry(t, int(d.cells.of[i]), row); j >= 0 {
				c.X[j+1][i] = v
			}
		}
		if t.kind == CovariateTerm {
			d.slopeScale(t, c)
		}
	}
	for j, x := range c.X {
		c.Scale[j] = max(c.Scale[j], norm(x))
	}
	return c
}

// entry returns the column in which a row of a term is not zero, and its value
// there; -1 if all are zero.
func (d *design) entry(t *term, cell int, row int32) (int, float64) {
	switch t.kind {
	case BlockTerm:
		if l := d.blocks[t.index].code[cell]; l > 0 {
			return t.from + int(l) - 1, 1
		}
		return -1, 0
	case CovariateTerm:
		s := &d.slopes[t.index]
		return t.from + s.level(cell), s.at(row)
	}
	return d.column(t, func(f int) int { return int(d.factors[f].code[cell]) }), 1
}

// slopeScale sets Unit and Scale of the columns of a covariate. As in lengths, a
// slope counts as no shorter than if its covariate varied among its own rows as
// among all.
func (d *design) slopeScale(t *term, c *Columns) {
	s := &d.slopes[t.index]
	for j := t.from; j < t.from+t.cols; j++ {
		c.Unit[j+1] = s.scale
	}
	for cell := range d.cells.count() {
		c.Scale[t.from+s.level(cell)+1] += float64(d.cells.n(cell))
	}
	for j := t.from; j < t.from+t.cols; j++ {
		c.Scale[j+1] = math.Sqrt(c.Scale[j+1])
	}
}

// Type2 returns the columns of term t and those that it is adjusted for, the
// constant first, as ANOVA takes them. Each is a set of columns to be summed:
// slopes in each level of the term stand beside it as one common slope.
func (c *Columns) Type2(t int) (before, own [][]int) {
	before, own = c.design.type2(c.spans[t][0], c.spans[t][1])
	return append([][]int{{0}}, shifted(before)...), shifted(own)
}

// Treatments returns the columns of all treatment terms together and those that
// they are adjusted for, as Joint takes them.
func (c *Columns) Treatments() (before, own [][]int) {
	d := c.design
	before = [][]int{{0}}
	for k := range d.terms {
		t := &d.terms[k]
		switch {
		case t.kind == TreatmentTerm:
			own = append(own, shifted(d.columns(t))...)
		case t.kind == CovariateTerm && d.slopesOfTreatment(t):
			before = append(before, shifted(d.common(t))...)
		default:
			before = append(before, shifted(d.columns(t))...)
		}
	}
	return before, own
}

// shifted makes room for the constant.
func shifted(sets [][]int) [][]int {
	for _, set := range sets {
		for i := range set {
			set[i]++
		}
	}
	return sets
}

// MeanRows holds adjusted means as weights on coefficients.
type MeanRows struct {
	Levels [][]int     // as in Means
	N      []int       // as in Means
	Weight [][]float64 // of each mean: a weight for each column; nil for a level without a row
}

// Means returns the adjusted means of all combinations of the given factors, as
// Result.Means defines them, in terms of the coefficients. Errors and panics are
// the same.
func (c *Columns) Means(factors ...int) (*MeanRows, error) {
	d := c.design
	count := 1
	for i, f := range factors {
		if f < 0 || f >= len(d.factors) || slices.Contains(factors[:i], f) {
			panic(panicFactor)
		}
		count *= len(d.model.Factors[f].Levels)
		if count*max(count, d.cols) > maxEntries {
			return nil, fmt.Errorf("%d means: %w", count, ErrTooLarge)
		}
	}
	m := &MeanRows{N: make([]int, count), Weight: make([][]float64, count)}
	at := make([]int, len(factors))
	for k := range count {
		m.Levels = append(m.Levels, slices.Clone(at))
		if l, known := d.at(d.point(factors, at)); known {
			m.Weight[k] = append([]float64{1}, l...)
		}
		for i := len(at) - 1; i >= 0; i-- {
			if at[i]++; at[i] < len(d.model.Factors[factors[i]].Levels) {
				break
			}
			at[i] = 0
		}
	}
	for cell := range d.cells.count() {
		k := 0
		for _, f := range factors {
			k = k*len(d.model.Factors[f].Levels) + int(d.model.Factors[f].Code[d.cells.first(cell)])
		}
		m.N[k] += d.cells.n(cell)
	}
	return m, nil
}

// At returns what the model expects at some points, as Result.At does, in terms of the coefficients.
func (c *Columns) At(points []Point) (*MeanRows, error) {
	if err := c.design.checkPoints(points); err != nil {
		return nil, err
	}
	m := &MeanRows{N: make([]int, len(points)), Weight: make([][]float64, len(points))}
	for k, p := range points {
		if l, known := c.design.at(p); known {
			m.Weight[k] = append([]float64{1}, l...)
		}
	}
	return m, nil
}
