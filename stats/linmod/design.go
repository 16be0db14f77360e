package linmod

import (
	"fmt"
	"math"
)

// design is a model laid out on the cells.
type design struct {
	model   Model
	cells   *cells
	weight  []float64 // of each cell: the square root of its count
	centre  float64   // the mean response
	y       []float64 // of each cell: the mean response, less centre
	blocks  []category
	factors []category
	slopes  []slope
	within  []within
	terms   []term // blocks, covariates, treatments by order of interaction
	cols    int
	swept   int // the block that is swept out; -1: the general mean
}

func newDesign(m Model, rows []int32, y []float64) (*design, error) {
	cs := group(rows, m.categorical())
	d := &design{model: m, cells: cs, swept: -1}
	d.centre = meanOf(cs.rows, func(row int32) float64 { return y[row] })
	response := func(row int32) float64 { return y[row] - d.centre }
	d.weight = make([]float64, cs.count())
	d.y = make([]float64, cs.count())
	for c := range d.y {
		d.weight[c] = math.Sqrt(float64(cs.n(c)))
		d.y[c] = meanOf(cs.in(c), response)
	}
	for i := range m.Blocks {
		d.blocks = append(d.blocks, categorise(&m.Blocks[i], cs))
		if d.swept < 0 || d.blocks[i].levels() > d.blocks[d.swept].levels() {
			d.swept = i
		}
	}
	for i := range m.Factors {
		d.factors = append(d.factors, categorise(&m.Factors[i], cs))
	}
	for _, c := range m.Covariates {
		s := newSlope(c, cs)
		if math.IsInf(s.scale, 0) || math.IsNaN(s.scale) {
			return nil, fmt.Errorf("range of covariate %q: %w", c.Name, ErrInfinite)
		}
		d.slopes = append(d.slopes, s)
	}
	if err := d.lay(); err != nil {
		return nil, err
	}
	d.within = deviations(cs, d.slopes, response, d.y)
	return d, d.fits()
}

// rows returns the number of equations: one for each cell and, for each triangle
// of deviations, one for each covariate and one for the response.
func (d *design) rows() int {
	return d.cells.count() + len(d.within)*(len(d.slopes)+1)
}

// fits returns an error if the matrix of the design, as far as it is laid out, is
// too large to store or takes too long to reduce.
func (d *design) fits() error {
	if entries := d.cols * d.rows(); entries > maxEntries || float64(entries)*float64(d.cols) > maxWork {
		return fmt.Errorf("%d columns on %d cells: %w", d.cols, d.cells.count(), ErrTooLarge)
	}
	return nil
}

// sweeping returns the category whose means are swept out.
func (d *design) sweeping() *category {
	if d.swept >= 0 {
		return &d.blocks[d.swept]
	}
	return constant(d.cells.count())
}

// lay gives each term its columns. A block or treatment factor has an indicator
// for each used level but the first, an interaction the products of those. No
// count of columns overflows: an interaction has at most as many times the
// columns of one with a factor less as there are cells, and those fitted.
func (d *design) lay() error {
	add := func(t term) error {
		t.from = d.cols
		d.cols += t.cols
		d.terms = append(d.terms, t)
		return d.fits()
	}
	for i := range d.blocks {
		t := term{kind: BlockTerm, name: d.model.Blocks[i].Name, index: i}
		if i != d.swept {
			t.cols = d.blocks[i].levels() - 1
		}
		if err := add(t); err != nil {
			return err
		}
	}
	for i := range d.slopes {
		t := term{kind: CovariateTerm, name: d.model.Covariates[i].Name, index: i, cols: d.slopes[i].slopes()}
		if err := add(t); err != nil {
			return err
		}
	}
	order := min(max(d.model.Order, 1), len(d.factors))
	for k := 1; k <= order; k++ {
		for fs := range subsets(len(d.factors), k) {
			t := term{kind: TreatmentTerm, factors: fs, cols: 1}
			for _, f := range fs {
				t.cols *= d.factors[f].levels() - 1
			}
			t.name = TermName(d.names(&t)...)
			if err := add(t); err != nil {
				return err
			}
		}
	}
	return nil
}

// fill writes the columns of the design into x, cells unweighted.
func (d *design) fill(x *matrix) {
	n := d.cells.count()
	p := len(d.slopes)
	for i := range d.terms {
		t := &d.terms[i]
		switch {
		case t.cols == 0:
		case t.kind == BlockTerm:
			for c, l := range d.blocks[t.index].code {
				if l > 0 {
					x.col(t.from + int(l) - 1)[c] = 1
				}
			}
		case t.kind == CovariateTerm:
			s := &d.slopes[t.index]
			for c, v := range s.mean {
				x.col(t.from + s.level(c))[c] = v
			}
			for i, w := range d.within {
				copy(x.col(t.from + s.level(w.cell))[n+i*(p+1):], w.x.col(t.index))
			}
		default:
			for c := range n {
				if j := d.column(t, func(f int) int { return int(d.factors[f].code[c]) }); j >= 0 {
					x.col(j)[c] = 1
				}
			}
		}
	}
}

// column returns the column of treatment term t that is 1 in the given levels of
// its factors, in the numbers of category, and -1 where none is: at the first
// level of a factor.
func (d *design) column(t *term, level func(factor int) int) int {
	j := 0
	for _, f := range t.factors {
		l := level(f)
		if l == 0 {
			return -1
		}
		j = j*(d.factors[f].levels()-1) + l - 1
	}
	return t.from + j
}

// slopeTerm returns the term of covariate k.
func (d *design) slopeTerm(k int) *term { return &d.terms[len(d.blocks)+k] }

// slopeColumn returns the column of the slope of covariate k that holds in a
// cell.
func (d *design) slopeColumn(k, cell int) int {
	return d.slopeTerm(k).from + d.slopes[k].level(cell)
}
