package mixed

import (
	"slices"

	"fairrun/stats/linmod"
)

// FitInterplay fits a model with interplay among its random factors: treatments within each specimen,
// for how differently specimens answer. Where the rows do not show how large the interplay is, it is left out and left
// says why. Where they do not show how large the other random parts are, err says why and r is nil: what differs
// within the random factors can still be compared, by least squares of [Model.Within]. All are
// nil where nothing random remains.
func FitInterplay(m Model, interplay []linmod.Factor, y []float64) (r *Result, left, err error) {
	if len(interplay) > 0 {
		all := m
		all.Random = slices.Concat(m.Random, interplay)
		if r, left = Fit(all, y); left == nil {
			return r, nil, nil
		}
	}
	if len(m.Random) == 0 {
		return nil, left, nil
	}
	r, err = Fit(m, y)
	return r, left, err
}

// Within returns the fixed part with the random factors as blocks: what rows do within everything
// that is random.
func (m Model) Within() linmod.Model {
	fixed := m.Fixed
	fixed.Blocks = slices.Concat(m.Fixed.Blocks, m.Random)
	return fixed
}

// Repeats reports whether some level of a factor has more than one of the rows that count. The
// residual holds what levels of one row each differ by.
func Repeats(f linmod.Factor, counts func(row int) bool) bool {
	rows := make([]int, len(f.Levels))
	for row, c := range f.Code {
		if c >= 0 && counts(row) {
			if rows[c]++; rows[c] > 1 {
				return true
			}
		}
	}
	return false
}
