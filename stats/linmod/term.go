package linmod

import (
	"cmp"
	"iter"
	"slices"
	"strings"
)

// term is a set of columns that enter a model together.
type term struct {
	kind    Kind
	name    string
	index   int   // of the block or covariate
	factors []int // of a treatment term, ascending
	from    int   // its columns are from … from+cols-1; none if it is swept out
	cols    int
}

// TermName names the term of some factors: "A", or of an interaction "A × B".
func TermName(factors ...string) string { return strings.Join(factors, " × ") }

// names are those of a treatment term's factors.
func (d *design) names(t *term) []string {
	var names []string
	for _, f := range t.factors {
		names = append(names, d.model.Factors[f].Name)
	}
	return names
}

// contains reports whether u is a margin of t: t an interaction of which u is a
// part, or slopes in each level of the factor that u is.
func (d *design) contains(t, u *term) bool {
	switch {
	case t.kind == CovariateTerm:
		by := d.model.Covariates[t.index].By
		switch u.kind {
		case BlockTerm:
			return same(by, &d.model.Blocks[u.index])
		case TreatmentTerm:
			return len(u.factors) == 1 && same(by, &d.model.Factors[u.factors[0]])
		}
	case t.kind == TreatmentTerm && u.kind == TreatmentTerm:
		for _, f := range u.factors {
			if !slices.Contains(t.factors, f) {
				return false
			}
		}
		return len(u.factors) < len(t.factors)
	}
	return false
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

// together yields the terms from … to-1 that make one row of the analysis of variance: each by itself, but
// for covariates with a Term in common.
func (d *design) together() iter.Seq2[int, int] {
	return func(yield func(from, to int) bool) {
		for i := 0; i < len(d.terms); {
			to := i + 1
			if name := d.group(i); name != "" {
				for to < len(d.terms) && d.group(to) == name {
					to++
				}
			}
			if !yield(i, to) {
				return
			}
			i = to
		}
	}
}

// group is the Term of the covariate that term i is, "" if it has none.
func (d *design) group(i int) string {
	if t := &d.terms[i]; t.kind == CovariateTerm {
		return d.model.Covariates[t.index].Term
	}
	return ""
}

// title is what a term is called in the analysis of variance.
func (d *design) title(t *term) string {
	if t.kind == CovariateTerm {
		return cmp.Or(d.model.Covariates[t.index].Term, t.name)
	}
	return t.name
}

// type2 returns the columns of the terms from … to-1 and those that they are adjusted for.
func (d *design) type2(from, to int) (before, own [][]int) {
	for k := range d.terms {
		if k < from || k >= to {
			before = append(before, d.beside(&d.terms[k], &d.terms[from])...)
			continue
		}
		own = append(own, d.columns(&d.terms[k])...)
	}
	return before, own
}

// subsets yields the ascending k-subsets of 0 … n-1 in lexicographic order, each
// in memory of its own.
func subsets(n, k int) iter.Seq[[]int] {
	return func(yield func([]int) bool) {
		s := make([]int, k)
		for i := range s {
			s[i] = i
		}
		for {
			if !yield(slices.Clone(s)) {
				return
			}
			i := k - 1
			for i >= 0 && s[i] == n-k+i {
				i--
			}
			if i < 0 {
				return
			}
			s[i]++
			for j := i + 1; j < k; j++ {
				s[j] = s[j-1] + 1
			}
		}
	}
}

// TermSets are the sets of factors whose levels a model of main effects, or else of all interactions, compares.
func TermSets(factors, order int) (sets [][]int) {
	if order > 1 {
		sets = append(sets, nil)
		for k := range factors {
			sets[0] = append(sets[0], k)
		}
		return sets
	}
	for k := range factors {
		sets = append(sets, []int{k})
	}
	return sets
}
