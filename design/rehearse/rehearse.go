package rehearse

import (
	"context"
	"fmt"
	"runtime"
	"strconv"
	"sync/atomic"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/stats/decimal"
	"fairrun/stats/parallel"
	"fairrun/stats/verdict"
)

// Options says how a plan is rehearsed.
type Options struct {
	Campaigns int    // of each order; 0 is 10,000
	Seed      uint64 // of all random numbers

	// Progress, if not nil, is given the campaigns done so far, now and then and when all are done. It is
	// called on the goroutine that called Rehearse, one call after the other, with no lock held, while
	// campaigns go on.
	Progress func(done int)
}

const defaultCampaigns = 10_000

// Rehearse runs a plan on its simulated bench. The same plan, seed and number of campaigns give the same figures,
// whatever the number of processors. An error says that no order can serve the plan, or
// what of it the verdict would refuse, or that ctx has ended. It then stops after the response in hand: within
// 100 ms, but for mixed models of very many runs, and once the first order is drawn.
func Rehearse(ctx context.Context, c *design.Plan, o Options) (*Rehearsal, error) {
	if o.Campaigns == 0 {
		o.Campaigns = defaultCampaigns
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	e, err := newEngine(c, o.Seed)
	if err != nil {
		return nil, err
	}
	if err := e.accepted(ctx); err != nil {
		return nil, err
	}
	t, err := e.run(ctx, o)
	if err != nil {
		return nil, err
	}
	return e.result(t), nil
}

// run rehearses all campaigns, chunk by chunk, and adds them up in the order of the chunks.
func (e *engine) run(ctx context.Context, o Options) (*tally, error) {
	chunks := (o.Campaigns + chunk - 1) / chunk
	parts := make([]*tally, chunks)
	finished := make(chan int, chunks) // room for all: no campaign waits for Progress
	workers := min(chunks, runtime.GOMAXPROCS(0))
	var next, left atomic.Int64
	left.Store(int64(workers))
	var all parallel.Group
	for range workers {
		all.Go(func() {
			defer func() {
				next.Store(int64(chunks)) // after a panic nobody begins another chunk
				if left.Add(-1) == 0 {
					close(finished)
				}
			}()
			w := newWorker(e)
			for {
				n := int(next.Add(1)) - 1
				if n >= chunks {
					return
				}
				size := min(chunk, o.Campaigns-n*chunk)
				if parts[n] = w.chunk(ctx, n, size); parts[n] == nil {
					return
				}
				finished <- size
			}
		})
	}
	done := 0
	for size := range finished {
		if done += size; o.Progress != nil {
			o.Progress(done)
		}
	}
	all.Wait()
	if err := ctx.Err(); err != nil && done < o.Campaigns {
		return nil, err
	}
	total := newTally(e)
	for _, part := range parts {
		total.add(part)
	}
	return total, nil
}

// accepted asks the verdict itself whether it would answer the plan.
func (e *engine) accepted(ctx context.Context) error {
	w := newWorker(e)
	w.allGood(Drawn)
	tr := &e.trials[0] // the order drawn, by the plan
	_, err := w.verdict(ctx, tr, len(tr.looks)-1, -1)
	return err
}

// verdict hands the runs in hand to package verdict, at a look of a trial and with a level of factor k differing, or
// none if k < 0.
func (w *worker) verdict(ctx context.Context, tr *trial, look, k int) (*verdict.Verdict, error) {
	d := w.columns(tr)
	d.Parts = nil // no comparison rests on them
	d.Status = make([]verdict.Status, len(w.good))
	for s, good := range w.good {
		if d.Status[s] = verdict.Failed; good {
			d.Status[s] = verdict.OK
		}
	}
	for r, measured := range w.responses {
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
	q := question.Request(tr.plan)
	q.Looks = tr.looks[look].Looks
	return verdict.Analyse(ctx, d, q)
}
