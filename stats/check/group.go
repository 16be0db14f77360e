package check

import (
	"gonum.org/v1/gonum/stat"
)

// group is what the tests need to know of one group's values.
type group struct {
	index    int // in the caller's list
	n        float64
	mean     float64
	variance float64 // exactly 0 when the values are all equal
}

// presentGroups returns the groups that have values, without the missing ones,
// and where each stood in the caller's list.
func presentGroups(groups [][]float64) (values [][]float64, index []int, err error) {
	for i, g := range groups {
		v, err := present(g)
		if err != nil {
			return nil, nil, &GroupError{Group: i, Err: err}
		}
		if len(v) > 0 {
			values = append(values, v)
			index = append(index, i)
		}
	}
	if len(values) < 2 {
		return nil, nil, ErrOneGroup
	}
	return values, index, nil
}

// summarise returns each group's size, mean and variance. A group of one run
// is an error.
func summarise(groups [][]float64) ([]group, error) {
	values, index, err := presentGroups(groups)
	if err != nil {
		return nil, err
	}
	out := make([]group, len(values))
	for i, v := range values {
		if len(v) < 2 {
			return nil, &GroupError{Group: index[i], Err: ErrLoneRun}
		}
		g := group{index: index[i], n: float64(len(v)), mean: v[0]}
		if !constant(v) {
			g.mean, g.variance = stat.MeanVariance(v, nil)
		}
		out[i] = g
	}
	return out, nil
}

// summariseVaried is summarise for tests that divide by each group's variance.
func summariseVaried(groups [][]float64) ([]group, error) {
	out, err := summarise(groups)
	if err != nil {
		return nil, err
	}
	for _, g := range out {
		if g.variance == 0 {
			return nil, &GroupError{Group: g.index, Err: ErrNoSpread}
		}
	}
	return out, nil
}
