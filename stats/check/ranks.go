package check

import (
	"cmp"
	"slices"
)

// midranks writes the ranks of x, from 1, into dst: tied values share the mean
// of their ranks. It returns Σ (t³ − t) over the sets of t tied values. order
// is scratch space of the same length.
func midranks(dst, x []float64, order []int) (ties float64) {
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	for from := 0; from < len(x); {
		to := from + 1
		for to < len(x) && x[order[to]] == x[order[from]] {
			to++
		}
		for _, i := range order[from:to] {
			dst[i] = float64(from+1+to) / 2
		}
		t := float64(to - from)
		ties += t*t*t - t
		from = to
	}
	return ties
}

// ranked is the pooled ranking of several groups.
type ranked struct {
	index []int     // of each group in the caller's list
	n     []float64 // size of each group
	mean  []float64 // mean rank of each group
	total float64   // number of values
	ties  float64   // Σ (t³ − t)
}

func rankGroups(groups [][]float64) (ranked, error) {
	values, index, err := presentGroups(groups)
	if err != nil {
		return ranked{}, err
	}
	pooled := slices.Concat(values...)
	if constant(pooled) {
		return ranked{}, ErrConstant
	}
	ranks := make([]float64, len(pooled))
	r := ranked{index: index, total: float64(len(pooled))}
	r.ties = midranks(ranks, pooled, make([]int, len(pooled)))
	for _, v := range values {
		sum := 0.0
		for _, rank := range ranks[:len(v)] {
			sum += rank
		}
		ranks = ranks[len(v):]
		r.n = append(r.n, float64(len(v)))
		r.mean = append(r.mean, sum/float64(len(v)))
	}
	return r, nil
}

// variance of a rank drawn at random, ties included, times (N)/(N−1):
// N(N+1)/12 − Σ(t³−t)/(12(N−1)).
func (r ranked) variance() float64 {
	return r.total*(r.total+1)/12 - r.ties/(12*(r.total-1))
}
