package resample

import (
	"context"
	"fmt"
	"slices"
	"sync"
)

const (
	panicNone  = "resample: no test to make"
	panicTests = "resample: the tests are of designs with different drawn orders"
)

// run is one call of Sample or Enumerate.
type run struct {
	slots  int
	drawn  []int32
	groups []group

	mu sync.Mutex
}

// group is the tests that share a layout.
type group struct {
	lay     *layout
	tests   []*Test
	index   []int // of each test in the call
	tallies []tally
	shared  []*shared // by chunk
	own     [][]own   // of each test, by chunk
}

func newRun(tests []*Test) *run {
	if len(tests) == 0 {
		panic(panicNone)
	}
	r := &run{}
	for i, t := range tests {
		if i == 0 {
			r.drawn = t.lay.design.Drawn
			r.slots = len(r.drawn)
		} else if !slices.Equal(t.lay.design.Drawn, r.drawn) {
			panic(panicTests)
		}
		at := slices.IndexFunc(r.groups, func(g group) bool {
			return g.lay.design == t.lay.design && slices.Equal(g.lay.used, t.lay.used)
		})
		if at < 0 {
			at = len(r.groups)
			r.groups = append(r.groups, group{lay: t.lay})
		}
		g := &r.groups[at]
		g.tests = append(g.tests, t)
		g.index = append(g.index, i)
		g.tallies = append(g.tallies, newTally(t.lay))
		g.own = append(g.own, nil)
	}
	return r
}

// room returns an error if what intervals keep of so many orders is too much.
func (r *run) room(orders int) error {
	each := 0
	for _, g := range r.groups {
		shared, own := g.lay.stored()
		each += shared + len(g.tests)*own
	}
	if each > 0 && orders > maxStored/each {
		return fmt.Errorf("intervals over %d orders: %w", orders, ErrTooLarge)
	}
	return nil
}

// grow makes room for the records of so many chunks.
func (r *run) grow(chunks int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for i := range r.groups {
		g := &r.groups[i]
		g.shared = append(g.shared, make([]*shared, chunks-len(g.shared))...)
		for k := range g.own {
			g.own[k] = append(g.own[k], make([]own, chunks-len(g.own[k]))...)
		}
	}
}

// worker judges orders for every group.
type worker struct {
	run    *run
	groups []workGroup
}

type workGroup struct {
	m      *moments
	judges []*judge
	keep   bool
	shared *shared
	own    []own
}

func (r *run) worker() *worker {
	w := &worker{run: r}
	for i := range r.groups {
		g := &r.groups[i] // whose records may be growing
		k := workGroup{m: newMoments(g.lay), keep: g.lay.design.Alpha > 0, own: make([]own, len(g.tests))}
		for _, t := range g.tests {
			k.judges = append(k.judges, newJudge(t, k.m))
		}
		w.groups = append(w.groups, k)
	}
	return w
}

// open begins a chunk.
func (w *worker) open() {
	for i := range w.groups {
		g := &w.groups[i]
		if !g.keep {
			continue
		}
		g.shared = newShared(g.m.lay)
		for k := range g.own {
			g.own[k] = newOwn(g.m.lay)
		}
	}
}

// order judges one order.
func (w *worker) order(order []int32) {
	for i := range w.groups {
		g := &w.groups[i]
		g.m.order(order)
		g.m.relate()
		if g.keep {
			g.shared.keep(g.m)
		}
		for k, j := range g.judges {
			j.order()
			if g.keep {
				g.own[k].keep(j)
			}
		}
	}
}

// close hands the records of a chunk in.
func (w *worker) close(chunk int) {
	w.run.mu.Lock()
	defer w.run.mu.Unlock()
	for i := range w.groups {
		from, to := &w.groups[i], &w.run.groups[i]
		to.shared[chunk] = from.shared
		for k := range from.own {
			to.own[k][chunk] = from.own[k]
		}
	}
}

// collect adds a worker's counts up.
func (r *run) collect(w *worker) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for i := range w.groups {
		for k, j := range w.groups[i].judges {
			r.groups[i].tallies[k].add(&j.tally)
		}
	}
}

// ended reports whether ctx has ended; it costs next to nothing.
func ended(ctx context.Context) bool {
	select {
	case <-ctx.Done():
		return true
	default:
		return false
	}
}
