package linmod

// Kind says what a row of the analysis of variance stands for.
type Kind int

const (
	BlockTerm Kind = iota
	CovariateTerm
	TreatmentTerm
	ResidualTerm
)

// Row is a row of an analysis of variance.
type Row struct {
	Name string // of an interaction: "A:B"
	Kind Kind
	DF   int     // 0 when the terms it is adjusted for leave nothing of it
	SS   float64 // 0 when DF is
}

// ANOVA returns the Type II analysis of variance: a row for each block,
// covariate and treatment term in the order of the model, main effects before
// interactions, and the residual last. A term is adjusted for all terms that do
// not contain it. An interaction contains the terms of its factors; slopes in
// each level of a factor contain that factor, which is then adjusted for one
// common slope instead.
//
// A sum of squares is that of the orthogonal components which the term adds to
// the fit, never a difference of two residual sums, so that a small effect keeps
// its digits beside a large one.
func (r *Result) ANOVA() []Row {
	d := r.design
	rows := make([]Row, 0, len(d.terms)+1)
	for i := range d.terms {
		t := &d.terms[i]
		var before [][]int
		for k := range d.terms {
			if u := &d.terms[k]; k != i {
				before = append(before, d.beside(u, t)...)
			}
		}
		row := Row{Name: t.name, Kind: t.kind}
		if t.kind == BlockTerm && t.index == d.swept {
			row.DF, row.SS = r.sweptBlock(before)
		} else {
			row.DF, row.SS = r.adds(before, d.columns(t))
		}
		rows = append(rows, row)
	}
	return append(rows, Row{Name: "residual", Kind: ResidualTerm, DF: r.DF, SS: r.RSS})
}

// Joint returns the row of all treatment terms together, given blocks and
// covariates. Its name is "treatments".
func (r *Result) Joint() Row {
	d := r.design
	var before, after [][]int
	for i := range d.terms {
		t := &d.terms[i]
		switch {
		case t.kind == TreatmentTerm:
			after = append(after, d.columns(t)...)
		case t.kind == CovariateTerm && d.slopesOfTreatment(t):
			before = append(before, d.common(t)...)
		default:
			before = append(before, d.columns(t)...)
		}
	}
	row := Row{Name: "treatments", Kind: TreatmentTerm}
	row.DF, row.SS = r.adds(before, after)
	return row
}

// columns returns the columns of a term, each a set of its own.
func (d *design) columns(t *term) [][]int {
	sets := make([][]int, t.cols)
	for j := range sets {
		sets[j] = []int{t.from + j}
	}
	return sets
}

// common returns the one column that a covariate has when its slope is the same
// everywhere.
func (d *design) common(t *term) [][]int {
	set := make([]int, t.cols)
	for j := range set {
		set[j] = t.from + j
	}
	return [][]int{set}
}

// beside returns the columns of u that t is adjusted for.
func (d *design) beside(u, t *term) [][]int {
	switch {
	case !d.contains(u, t):
		return d.columns(u)
	case u.kind == CovariateTerm:
		return d.common(u)
	}
	return nil
}

// slopesOfTreatment reports whether a covariate has a slope in each level of a
// treatment factor.
func (d *design) slopesOfTreatment(t *term) bool {
	for i := range d.terms {
		if u := &d.terms[i]; u.kind == TreatmentTerm && d.contains(t, u) {
			return true
		}
	}
	return false
}

// adds returns the rank and the sum of squares that the columns after add to the
// swept category and the columns before. All columns lie in the span that the
// triangle of the whole model rotates into its first rows, so those suffice.
func (r *Result) adds(before, after [][]int) (df int, ss float64) {
	rank := r.tri.rank()
	top := newMatrix(rank, r.tri.m.cols)
	for j := range top.cols {
		copy(top.col(j), r.tri.m.col(j))
	}
	sets := append(append([][]int(nil), before...), after...)
	x, scale := merge(top, r.swept.scale, sets)
	t := reduce(x, append([]float64(nil), r.tri.z[:rank]...), scale)
	for i, j := range t.independent {
		if j >= len(before) {
			df++
			ss += t.z[i] * t.z[i]
		}
	}
	return df, ss
}

// sweptBlock returns the rank and the sum of squares that the swept block adds to
// the columns before: the distance between the fits with and without it.
func (r *Result) sweptBlock(before [][]int) (df int, ss float64) {
	d := r.design
	with, rankWith := d.sweep(d.sweeping()).project(before)
	without, rankWithout := d.sweep(constant(d.cells.count())).project(before)
	if df = rankWith - rankWithout; df == 0 {
		return 0, 0
	}
	for i := range with {
		ss += (with[i] - without[i]) * (with[i] - without[i])
	}
	return df, ss
}
