package rehearse

import (
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/order"
)

// Streams of the seed from here on belong to rehearsals, three to a chunk.
const rehearsalStreams = 1 << 34

// chunk is how many campaigns share a stream of random numbers. It is fixed, so that what comes
// out does not depend on how many goroutines share the chunks.
const chunk = 50

// Orders that are rehearsed.
const (
	Drawn  = "drawn"  // by the plan's rule, afresh for each campaign
	Sorted = "sorted" // the runs of each block level after level
	Random = "random" // the runs of each block in any order
)

// trial is an order and how its runs are analysed.
type trial struct {
	order   string
	drift   design.Drift
	planned bool   // drift is that of the plan
	problem string // why it cannot be analysed so, "" if it can
}

// engine rehearses campaigns of one plan. It is not changed by use.
type engine struct {
	*frame
	bench    *Campaign
	measures []*measure
	trials   []trial
	crit     *criticals
	seed     uint64

	// world makes the runs of an order: where each drift and noise comes from. It is that of the bench but
	// in tests.
	world func(w *worker, blocks [][]int, source *order.Source)
}

func newEngine(c *design.Campaign, seed uint64) (*engine, error) {
	f, err := newFrame(c, seed)
	if err != nil {
		return nil, err
	}
	s := c.Simulation
	if s == nil {
		s = c.DefaultSimulation()
	}
	e := &engine{
		frame: f, bench: newBench(c, s), seed: seed,
		crit:  &criticals{compare: c.Analysis.Compare, alpha: c.Analysis.Alpha},
		world: (*worker).onBench,
	}
	for i := range c.Responses {
		m := newMeasure(&c.Responses[i], s.Responses[i], &e.bench.Responses[i])
		if c.Analysis.Compare == design.CompareBest && !m.lower {
			m.truth = -m.truth // the level that differs is the worse one
		}
		e.measures = append(e.measures, m)
	}
	none := design.Drift{Model: design.DriftNone, Shared: true}
	for _, o := range []string{Drawn, Sorted, Random} {
		if c.Drift.Model == design.DriftNone || o != Drawn {
			e.trials = append(e.trials, trial{order: o, drift: none, planned: c.Drift.Model == design.DriftNone})
		}
		if c.Drift.Model != design.DriftNone {
			e.trials = append(e.trials, trial{order: o, drift: c.Drift, planned: true})
		}
	}
	for i := range e.trials {
		if t := &e.trials[i]; t.order == Sorted && !e.estimable(t.drift) {
			t.problem = "sorted like this, the settings cannot be told apart from drift"
		}
	}
	return e, nil
}

// estimable says whether sorted order can tell the comparisons that are rehearsed apart from drift.
func (e *engine) estimable(drift design.Drift) bool {
	w := newWorker(e)
	w.allGood(Sorted)
	g := w.general(drift)
	source := order.NewSource(0, rehearsalStreams)
	for s := range w.y {
		w.y[s] = normal(source) // what can be estimated does not depend on it
	}
	g.solve(w.y, w.values)
	for k, f := range e.factors {
		if math.IsNaN(g.mean[k].variance[f.level*len(f.labels)+f.against]) {
			return false
		}
	}
	return true
}

// worker runs campaigns of an engine one after the other.
type worker struct {
	*engine
	first  [][]int // the order drawn
	blocks [][]int // the order in hand
	open   []int   // positions of drawn runs
	moved  []int

	treatment []int // of each slot
	plot      []int // of each slot: its whole plot in the order in hand, from 0; -1 outside; nil: there are none
	good      []bool
	failed    int
	drift     [][]float64 // of each response: by slot
	noise     [][]float64
	y         []float64
	values    []values // of each factor
	fits      []*fit   // of each trial
	judge     judge
	z         []float64
}

func newWorker(e *engine) *worker {
	w := &worker{engine: e, y: make([]float64, e.slots()), treatment: make([]int, e.slots()), good: make([]bool, e.slots()), z: make([]float64, len(e.measures))}
	for range e.blocks {
		w.first = append(w.first, make([]int, e.length))
		w.blocks = append(w.blocks, make([]int, e.length))
	}
	for b := range w.first {
		copy(w.first[b], e.drawn.Blocks[b])
	}
	for i, role := range e.drawn.Plan.Roles() {
		if role == order.RoleDrawn {
			w.open = append(w.open, i)
		}
	}
	w.moved = make([]int, len(w.open))
	for range e.measures {
		w.drift = append(w.drift, make([]float64, e.slots()))
		w.noise = append(w.noise, make([]float64, e.slots()))
	}
	for _, f := range e.factors {
		w.values = append(w.values, newValues(len(f.labels)))
	}
	for _, t := range e.trials {
		w.fits = append(w.fits, newFit(e.frame, t.drift))
	}
	w.judge.crit = e.crit
	return w
}

// allGood puts the runs into an order in which none fails.
func (w *worker) allGood(name string) {
	w.arrange(name, nil)
	copy(w.treatment, slices.Concat(w.blocks...))
	for s := range w.good {
		w.good[s] = w.counts(s)
	}
}

// counts reports whether the verdict rests on the run in a slot.
func (w *worker) counts(slot int) bool {
	return w.analysed[slot%w.length] && (w.plot == nil || w.plot[slot] >= 0)
}

// chunk rehearses campaigns from to before to, whose random numbers are those of chunk n.
func (w *worker) chunk(n, campaigns int) *tally {
	t := newTally(w.engine)
	draws := order.NewSource(w.seed, rehearsalStreams+3*uint64(n))
	shuffles := order.NewSource(w.seed, rehearsalStreams+3*uint64(n)+1)
	runs := order.NewSource(w.seed, rehearsalStreams+3*uint64(n)+2)
	sampler := w.set.Sampler(draws)
	for range campaigns {
		sampler.Fill(w.first)
		at := ""
		for i := range w.trials {
			tr := &w.trials[i]
			if tr.order != at {
				at = tr.order
				w.arrange(at, shuffles)
				w.failed = 0
				w.world(w, w.blocks, runs)
			}
			if tr.problem == "" {
				w.analyse(w.fits[i], t.trials[i])
			}
			t.trials[i].failed += w.failed
		}
	}
	t.campaigns = campaigns
	return t
}

// arrange puts the runs of the order drawn into another order, block by block; fixed runs stay. Random order
// keeps no whole plots together.
func (w *worker) arrange(name string, source *order.Source) {
	for b, block := range w.first {
		copy(w.blocks[b], block)
		if name == Drawn {
			continue
		}
		for i, at := range w.open {
			w.moved[i] = block[at]
		}
		if name == Sorted {
			slices.SortFunc(w.moved, func(s, t int) int {
				if w.plots != nil && w.plots[s] != w.plots[t] {
					return w.plots[s] - w.plots[t]
				}
				return s - t
			})
		} else {
			order.Shuffle(source, w.moved)
		}
		for i, at := range w.open {
			w.blocks[b][at] = w.moved[i]
		}
	}
	if w.plot = nil; w.plots != nil && name != Random {
		w.plot = w.wholePlots()
	}
}

// wholePlots numbers the whole plots of the order in hand: runs of one setting, one after the other.
func (w *worker) wholePlots() []int {
	plot := make([]int, 0, w.slots())
	n := -1
	for _, block := range w.blocks {
		setting := -1
		for range block {
			plot = append(plot, -1)
		}
		for _, at := range w.open {
			if own := w.plots[block[at]]; own != setting {
				setting = own
				n++
			}
			plot[len(plot)-len(block)+at] = n
		}
	}
	return plot
}

// onBench makes the runs of an order on the simulated bench.
func (w *worker) onBench(blocks [][]int, source *order.Source) {
	slot := 0
	w.bench.each(blocks, source, w.z, func(_, t int, met Conditions, failed bool) {
		volts, copper := met.logs()
		analysed := w.counts(slot)
		w.treatment[slot] = t
		w.good[slot] = analysed && !failed
		if analysed && failed {
			w.failed++
		}
		for k, m := range w.measures {
			w.drift[k][slot] = m.response.drift(volts, copper)
			w.noise[k][slot] = w.z[k]
		}
		slot++
	})
}

// fitted is a fit of one order: one response after another is solved.
type fitted interface {
	solve(y []float64, out []values)
}

// analyse judges the runs in hand with a model and adds what came out to a tally.
func (w *worker) analyse(f *fit, t *trialTally) {
	var by fitted = f
	precisionOf := func(k int) *precision { return &f.mean[k].precision }
	if w.random() || !f.prepare(w.treatment, w.good) {
		g := w.general(f.drift)
		by = g
		precisionOf = func(k int) *precision { return &g.mean[k] }
	}
	for r, m := range w.measures {
		w.nothing(m, r)
		by.solve(w.y, w.values)
		for k := range w.factors {
			w.judge.m, w.judge.f, w.judge.p, w.judge.v = m, &w.factors[k], precisionOf(k), &w.values[k]
			t.cases[r][k].nothing(w.judge.alarm(), w.judge.rehearsed())
		}
		if math.IsNaN(m.truth) {
			continue
		}
		for k := range w.factors {
			w.differing(m, r, k)
			by.solve(w.y, w.values)
			w.judge.f, w.judge.p, w.judge.v = &w.factors[k], precisionOf(k), &w.values[k]
			t.cases[r][k].differing(w.judge.rehearsed(), m.truth)
		}
	}
}

// nothing fills in response r when all levels are equal.
func (w *worker) nothing(m *measure, r int) {
	for s := range w.y {
		if w.y[s] = math.NaN(); w.good[s] {
			w.y[s] = m.value(w.drift[r][s], w.noise[r][s])
		}
	}
}

// differing fills in response r when one level of factor k differs.
func (w *worker) differing(m *measure, r, k int) {
	w.nothing(m, r)
	f := &w.factors[k]
	for s := range w.y {
		if w.good[s] && f.code[w.treatment[s]] == f.level {
			w.y[s] += m.shift(w.drift[r][s])
		}
	}
}
