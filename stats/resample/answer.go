package resample

import (
	"context"
	"runtime"
	"sync/atomic"

	"fairrun/stats/parallel"
)

// results answers for every test, in the sequence of the call. The error is that of ctx.
func (r *run) results(ctx context.Context, exact bool) ([]Result, error) {
	n := 0
	for _, g := range r.groups {
		n += len(g.tests)
	}
	results := make([]Result, n)
	for _, g := range r.groups {
		for k, t := range g.tests {
			results[g.index[k]] = t.result(&g.tallies[k], exact)
			if g.lay.design.Alpha > 0 {
				g.intervals(ctx, k, exact, &results[g.index[k]])
			}
		}
	}
	return results, ctx.Err()
}

// intervals fills in the intervals of the group's k-th test.
func (g *group) intervals(ctx context.Context, k int, exact bool, r *Result) {
	t := g.tests[k]
	records := make([]record, len(g.shared))
	for c := range records {
		records[c] = record{n: len(g.shared[c].dfRatio), shared: g.shared[c], own: g.own[k][c]}
	}
	type task struct {
		family, k int
		out       *Answer
	}
	var tasks []task
	for i, f := range g.lay.families {
		for k := f.from; k < f.to; k++ {
			if g.lay.estimable(k) {
				tasks = append(tasks, task{i, k, &r.Families[i].Comparisons[k-f.from]})
			}
		}
	}
	need := make([]int, len(g.lay.families))
	for i, f := range g.lay.families {
		need[i] = g.tallies[k].needed(g.lay.design.Alpha/float64(f.strata), exact)
	}
	var next atomic.Int64
	var work parallel.Group
	for range min(len(tasks), runtime.GOMAXPROCS(0)) {
		work.Go(func() {
			s := newSearch(t, records)
			for i := int(next.Add(1)) - 1; i < len(tasks) && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				c := tasks[i]
				c.out.Low, c.out.High = s.interval(c.family, c.k, need[c.family])
			}
		})
	}
	work.Wait()
}
