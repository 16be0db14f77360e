package linmod

import (
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
