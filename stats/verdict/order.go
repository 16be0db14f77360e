package verdict

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/check"
)

// inOrder lists the used rows in the order in which they were done.
func (s *subject) inOrder() []int {
	rows := make([]int, 0, s.fit.N)
	for i, used := range s.fit.Used {
		if used {
			rows = append(rows, i)
		}
	}
	if when := s.d.Order; when != nil {
		slices.SortStableFunc(rows, func(a, b int) int {
			switch {
			case when[a] < when[b]:
				return -1
			case when[a] > when[b]:
				return 1
			}
			return 0
		})
	}
	return rows
}

// neighbours tests whether runs done one after the other resemble each other
// beyond what the model holds.
func (s *subject) neighbours(order []int) {
	const name = "neighbouring runs (Durbin-Watson)"
	e := s.fit.Residuals()
	sorted := make([]float64, len(order))
	for k, i := range order {
		sorted[k] = e[i]
	}
	var block []int32
	if blocks := slices.Concat(s.d.Recovered, s.d.Blocks); len(blocks) > 0 {
		block = make([]int32, len(order))
		for k, i := range order {
			block[k] = blocks[0].Code[i]
		}
	}
	r, err := check.DurbinWatson(sorted, block, s.basis(order))
	if err != nil {
		s.pass(name, err)
		return
	}
	s.judgeCheck(name, r.Statistic, r.P, "runs done one after the other do not resemble each other",
		alikeness(r))
}

// alikeness says how neighbours resemble each other.
func alikeness(r check.Serial) string {
	if r.Statistic < r.Expected {
		return "runs done one after the other resemble each other beyond what the model holds: heat or the pack carried over, or something drifted; the intervals are then too short"
	}
	return "runs done one after the other differ more than chance allows: something alternates"
}

// basis is an orthonormal basis of the model's columns on the given rows, or
// nil for the mean only: with many runs the other columns hardly matter.
func (s *subject) basis(rows []int) mat.Matrix {
	if len(rows) > maxSerial {
		return nil
	}
	q := s.fit.Basis()
	out := mat.NewDense(len(rows), s.fit.Rank, nil)
	for k, i := range rows {
		out.SetRow(k, q.RawRowView(i))
	}
	return out
}
