package rehearse

import (
	"context"
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/stats/compare"
	"fairrun/stats/judge"
	"fairrun/stats/power"
)

// Streams of the seed from here on belong to rehearsals, three to a chunk.
const rehearsalStreams = 1 << 34

// beyondStreams are further streams, one to a chunk, for what the bench does besides: plans that differ in it meet
// the same runs otherwise.
const beyondStreams = 1 << 35

// interplayStreams are those of how differently blocks or specimens answer, one to a chunk.
const interplayStreams = 1 << 36

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
	order      string
	plan       *design.Plan // with the drift and the covariates of this analysis
	covariates []int        // checks of the plan
	looks      []look
	beyond     bool   // least squares with blocks and drift are not the verdict's model
	problem    string // why it cannot be analysed so, "" if it can
}

// look is one of the looks at a campaign.
type look struct {
	question.PlannedLook
	crit *judge.Criticals
}

// engine rehearses campaigns of one plan. It is not changed by use.
type engine struct {
	*setup
	bench     *Simulator
	responses []*judged
	trials    []trial
	plain     *judge.Criticals // of a look that is the only one
	seed      uint64

	// world makes the runs of an order: where each drift and noise comes from. It is that of the bench but
	// in tests.
	world func(w *worker, blocks [][]int, source *lot.Stream)
}

func newEngine(c *design.Plan, seed uint64) (*engine, error) {
	f, err := newSetup(c, seed)
	if err != nil {
		return nil, err
	}
	s := simulation(c)
	e := &engine{
		setup: f, bench: newSimulator(c, s), seed: seed,
		plain: criticals(f, nil),
		world: (*worker).onBench,
	}
	for i := range c.Responses {
		m := newJudged(&c.Responses[i], s.Responses[i], &e.bench.Responses[i])
		if c.Analysis.Compare == design.CompareBest && m.Lower {
			m.truth = -m.truth // the level that differs is the better one
		}
		e.responses = append(e.responses, m)
	}
	plain := *c
	plain.Drift = design.Drift{Model: design.DriftNone}
	plain.Order.CarryOver = false
	plain.Analysis.Covariates = nil
	for _, o := range []string{Drawn, Sorted, Random} {
		if o != Drawn && (c.Drift.Model != design.DriftNone || c.Order.CarryOver || c.Analysis.Covariates != nil) {
			e.trials = append(e.trials, e.trial(o, &plain))
		}
		e.trials = append(e.trials, e.trial(o, c))
	}
	w := newWorker(e)
	for i := range e.trials {
		t := &e.trials[i]
		w.allGood(t.order)
		t.beyond = beyond(w.columns(t), t.plan.Drift)
		if t.order == Sorted && !w.estimable(t) {
			t.problem = "sorted like this, the settings cannot be distinguished from drift"
		}
	}
	return e, nil
}

// criticals are the critical values of a look, or of the only one.
func criticals(f *setup, look *power.Interim) *judge.Criticals {
	a := f.plan.Analysis
	out := judge.NewCriticals(compare.Kind(a.Compare), a.Alpha, look)
	if a.Noise == design.NoiseByLevel {
		out.ByLevel(f.plan.RepeatsWithin())
	}
	if f.plan.Family() == design.FamilyTable {
		return out.OneTable(f.model(design.Drift{Model: design.DriftNone}, nil), len(f.plan.Responses))
	}
	return out
}

// trial is an order whose runs are analysed by a plan.
func (e *engine) trial(order string, plan *design.Plan) trial {
	t := trial{order: order, plan: plan}
	for _, name := range plan.Analysis.Covariates {
		t.covariates = append(t.covariates, slices.IndexFunc(plan.Readings, func(c design.Reading) bool { return c.Name == name }))
	}
	for _, l := range question.PlannedLooks(plan) {
		crit := e.plain
		if l.Looks != nil {
			crit = criticals(e.setup, l.Looks.Interim())
		}
		t.looks = append(t.looks, look{l, crit})
	}
	return t
}

// estimable says whether the order in hand can tell the comparisons that are rehearsed apart from drift.
func (w *worker) estimable(tr *trial) bool {
	g := w.general(tr)
	source := lot.New(0, rehearsalStreams)
	for s := range w.y {
		if w.y[s] = math.NaN(); w.good[s] {
			w.y[s] = normal(source) // what can be estimated does not depend on it
		}
	}
	g.Solve(w.y, w.values)
	for k, f := range w.factors {
		if !g.Precision(k).Estimable(f.level, f.against) {
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

	treatment  []int  // of each slot
	plot       []int  // of each slot: its whole plot in the order in hand, from 0; -1 outside; nil: there are none
	good       []bool // the verdict rests on this slot
	made       []bool // the same when all runs are made; good goes up to a look
	failed     int
	drift      [][]float64 // of each response: by slot
	noise      [][]float64
	noted      [][]float64 // of each check: by slot
	y          []float64
	values     []judge.Estimates     // of each factor
	fits       []*judge.LeastSquares // of each trial
	cells      []*judge.CellMeans    // of each trial, where blocks are a sample
	own        []*judge.ByLevel      // of each trial, where levels have a noise of their own
	histories  [][]history           // of each response and factor
	reading    judge.Reading
	z          []float64
	besides    *lot.Stream // of what the bench does besides
	interplays *lot.Stream // of how differently blocks or specimens answer
	answers    answers
}

func newWorker(e *engine) *worker {
	n := e.slots()
	w := &worker{engine: e, y: make([]float64, n), treatment: make([]int, n), good: make([]bool, n), made: make([]bool, n),
		z: make([]float64, len(e.responses)), besides: lot.New(e.seed, beyondStreams), interplays: lot.New(e.seed, interplayStreams), answers: newAnswers(e)}
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
	for range e.responses {
		w.drift = append(w.drift, make([]float64, n))
		w.noise = append(w.noise, make([]float64, n))
		w.histories = append(w.histories, make([]history, len(e.factors)))
	}
	for range e.plan.Readings {
		w.noted = append(w.noted, make([]float64, n))
	}
	for _, t := range e.trials {
		var noted [][]float64
		for _, k := range t.covariates {
			noted = append(noted, w.noted[k])
		}
		m := e.model(t.plan.Drift, noted)
		if t.plan.Order.CarryOver {
			m.CarryOver = m.Factors[:len(e.fitted())]
		}
		w.fits = append(w.fits, judge.NewLeastSquares(m))
		w.own = append(w.own, judge.NewByLevel(m, len(e.plan.Treatments()), !e.plan.Block.Fixed))
		w.cells = append(w.cells, judge.NewCellMeans(m, len(e.plan.Treatments())))
	}
	w.values = judge.NewEstimates(e.model(e.plan.Drift, nil))
	return w
}

// allGood puts the runs into an order in which none fails.
func (w *worker) allGood(name string) {
	w.arrange(name, lot.New(w.seed, beyondStreams))
	copy(w.treatment, slices.Concat(w.blocks...))
	for s := range w.good {
		w.good[s] = w.counts(s)
	}
}

// counts reports whether the verdict rests on the run in a slot.
func (w *worker) counts(slot int) bool {
	return w.analysed[slot%w.length] && (w.plot == nil || w.plot[slot] >= 0)
}

// chunk rehearses some campaigns, whose random numbers are those of chunk n. It returns nil if ctx ends
// before they are done.
func (w *worker) chunk(ctx context.Context, n, campaigns int) *tally {
	t := newTally(w.engine)
	draws := lot.New(w.seed, rehearsalStreams+3*uint64(n))
	shuffles := lot.New(w.seed, rehearsalStreams+3*uint64(n)+1)
	runs := lot.New(w.seed, rehearsalStreams+3*uint64(n)+2)
	w.besides = lot.New(w.seed, beyondStreams+uint64(n))
	w.interplays = lot.New(w.seed, interplayStreams+uint64(n))
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
				copy(w.made, w.good)
			}
			if tr.problem == "" {
				w.analyse(ctx, i, t.trials[i])
			}
			if ctx.Err() != nil {
				return nil
			}
			t.trials[i].failed += w.failed
		}
	}
	t.campaigns = campaigns
	return t
}

// arrange puts the runs of the order drawn into another order, block by block; fixed runs stay. Random order
// keeps no whole plots together.
func (w *worker) arrange(name string, source *lot.Stream) {
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
			lot.Shuffle(source, w.moved)
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

// nothing fills in response r when all levels are equal.
func (w *worker) nothing(m *judged, r int) {
	for s := range w.y {
		if w.y[s] = math.NaN(); w.good[s] {
			w.y[s] = m.value(w.drift[r][s], w.noise[r][s])
		}
	}
}

// differing fills in response r when one level of factor k differs.
func (w *worker) differing(m *judged, r, k int) {
	w.nothing(m, r)
	f := &w.factors[k]
	for s := range w.y {
		if w.good[s] && f.Code[w.treatment[s]] == f.level {
			w.y[s] += m.shift(w.drift[r][s])
		}
	}
}
