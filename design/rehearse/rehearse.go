package rehearse

import (
	"context"
	"fmt"
	"runtime"
	"strconv"
	"sync"

	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/stats/decimal"
	"fairrun/stats/verdict"
)

// Options says how a plan is rehearsed.
type Options struct {
	Campaigns int            // of each order; 0 is 10,000
	Seed      uint64         // of all random numbers
	Progress  func(done int) // called now and then with the campaigns done so far; nil: not
}

const defaultCampaigns = 10_000

// Rehearse runs a plan on its simulated bench. The same plan, seed and number of campaigns give the same figures,
// whatever the number of processors. An error says that no order can serve the plan, or
// what of it the verdict would refuse.
func Rehearse(c *design.Plan, o Options) (*Rehearsal, error) {
	if o.Campaigns == 0 {
		o.Campaigns = defaultCampaigns
	}
	e, err := newEngine(c, o.Seed)
	if err != nil {
		return nil, err
	}
	if err := e.accepted(); err != nil {
		return nil, err
	}
	return e.result(e.run(o)), nil
}

// run rehearses all campaigns, chunk by chunk, and adds them up in the order of the chunks.
func (e *engine) run(o Options) *tally {
	chunks := (o.Campaigns + chunk - 1) / chunk
	parts := make([]*tally, chunks)
	next, done := 0, 0
	var lock sync.Mutex
	take := func(finished int) (n int, ok bool) {
		lock.Lock()
		defer lock.Unlock()
		if done += finished; finished > 0 && o.Progress != nil {
			o.Progress(done)
		}
		next++
		return next - 1, next <= chunks
	}
	var all sync.WaitGroup
	for range min(chunks, runtime.GOMAXPROCS(0)) {
		all.Go(func() {
			w := newWorker(e)
			size := 0
			for {
				n, ok := take(size)
				if !ok {
					return
				}
				size = min(chunk, o.Campaigns-n*chunk)
				parts[n] = w.chunk(n, size)
			}
		})
	}
	all.Wait()
	total := newTally(e)
	for _, part := range parts {
		total.add(part)
	}
	return total
}

// accepted asks the verdict itself whether it would answer the plan.
func (e *engine) accepted() error {
	w := newWorker(e)
	w.allGood(Drawn)
	tr := &e.trials[0] // the order drawn, by the plan
	_, err := w.verdict(tr, len(tr.looks)-1, -1)
	return err
}

// verdict hands the runs in hand to package verdict, at a look of a trial and with a level of factor k differing, or
// none if k < 0.
func (w *worker) verdict(tr *trial, look, k int) (*verdict.Verdict, error) {
	d := w.columns(tr)
	d.Parts = nil // no comparison rests on them
	d.Status = make([]verdict.Status, len(w.good))
	for s, good := range w.good {
		if d.Status[s] = verdict.Failed; good {
			d.Status[s] = verdict.OK
		}
	}
	for r, measured := range w.measures {
		if w.nothing(measured, r); k >= 0 {
			w.differing(measured, r, k)
		}
		p := measured.plan
		col := &decimal.Column{}
		for s, y := range w.y {
			if !w.good[s] {
				col.AppendMissing()
				continue
			}
			if err := col.Append(strconv.AppendFloat(nil, measured.observed(y), 'g', -1, 64)); err != nil {
				return nil, fmt.Errorf("response %s: %w", p.Name, err)
			}
		}
		v := verdict.Measured{Name: p.Name, Unit: p.Unit, Scale: verdict.Scale(p.Scale), Values: col}
		if tr.plan.Analysis.Compare == design.CompareBest {
			v.Better = p.Better // otherwise only the set of best levels hangs on it
		}
		if p.Margin.Set {
			v.Margin = &verdict.Margin{Value: p.Margin.Value, Relative: p.Margin.Relative}
		}
		d.Responses = append(d.Responses, v)
	}
	q := analysis.Request(tr.plan)
	q.Looks = tr.looks[look].Looks
	return verdict.Analyse(context.Background(), d, q)
}
