package linmod

import "slices"

// Kind says what a row of the analysis of variance stands for.
type Kind int

// The kinds of rows.
const (
	BlockTerm Kind = iota
	CovariateTerm
	TreatmentTerm // a factor or an interaction
	ResidualTerm
)

// Row is a row of an analysis of variance.
type Row struct {
	Name    string   // of an interaction: "A × B", see [TermName]
	Factors []string // of a treatment term
	Kind    Kind
	DF      int     // 0 when the terms it is adjusted for leave nothing of it
	SS      float64 // 0 when DF is, or when it is no more than rounding makes
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
	top := r.top()
	rows := make([]Row, 0, len(d.terms)+1)
	for i, to := range d.together() {
		t := &d.terms[i]
		before, own := d.type2(i, to)
		row := Row{Name: d.title(t), Factors: d.names(t), Kind: t.kind}
		if t.kind == BlockTerm && t.index == d.swept {
			row.DF, row.SS = r.sweptBlock(before)
		} else {
			row.DF, row.SS = r.adds(top, before, own)
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
	row.DF, row.SS = r.adds(r.top(), before, after)
	return row
}

// top returns the rows of the triangle that are not zero. All columns lie in the
// span that it was rotated into, so every question about them can be put to those
// rows instead of the cells.
func (r *Result) top() *matrix {
	top := newMatrix(r.tri.rank(), r.tri.m.cols)
	for j := range top.cols {
		copy(top.col(j), r.tri.m.col(j))
	}
	return top
}

// adds returns the rank and the sum of squares that the columns after add to the
// swept category and the columns before.
func (r *Result) adds(top *matrix, before, after [][]int) (df int, ss float64) {
	x, scale := merge(top, r.swept.scale, slices.Concat(before, after))
	t := reduce(x, slices.Clone(r.tri.z[:top.rows]), scale)
	for i, j := range t.independent {
		if j >= len(before) {
			df++
			ss += t.z[i] * t.z[i]
		}
	}
	return df, r.clean(ss)
}

// clean returns a sum of squares, or 0 for one that rounding may have made.
func (r *Result) clean(ss float64) float64 {
	if ss <= r.rounding {
		return 0
	}
	return ss
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
	return df, r.clean(ss)
}
