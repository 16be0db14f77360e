package rehearse

import (
	"context"
	"math"

	"fairrun/design"
	"fairrun/stats/compare"
	"fairrun/stats/judge"
)

// history is what becomes of one family of comparisons in a campaign, from look to look.
type history struct {
	alarm              bool // a comparison was called different although none is, while some were open
	open               bool // some comparison is unresolved, so that a person goes on
	plainAlarm         bool // the same with each look judged as if it were the only one
	plainOpen          bool
	nothing, differing conclusion
}

// conclusion is how the comparison that is rehearsed was settled, or how it stood at the end.
type conclusion struct {
	judge.Interval
	blocks  int
	settled bool
}

// take brings a conclusion to a look after so many blocks. What is settled stays so.
func (c *conclusion) take(i judge.Interval, blocks int) {
	if !c.settled {
		*c = conclusion{i, blocks, i.Word != compare.Unresolved}
	}
}

// ended reports whether no later look can change anything.
func (c *history) ended(m *judged) bool {
	return !c.open && !c.plainOpen && c.nothing.settled && (c.differing.settled || math.IsNaN(m.truth))
}

// analyse judges the runs in hand by the model of trial i, look after look as a person does who stops when nothing is left
// open, and adds what came out to a tally. Once ctx ends it leaves the rest undone.
func (w *worker) analyse(ctx context.Context, i int, t *trialTally) {
	tr := &w.trials[i]
	for r := range w.histories {
		for k := range w.histories[r] {
			w.histories[r][k] = history{open: true, plainOpen: len(tr.looks) > 1}
		}
	}
	for n := range tr.looks {
		w.look(ctx, i, &tr.looks[n], len(tr.looks) > 1)
	}
	copy(w.good, w.made)
	if ctx.Err() != nil {
		return
	}
	for r, m := range w.responses {
		for k := range w.factors {
			t.cases[r][k].count(&w.histories[r][k], m.truth)
		}
	}
}

// fit returns the fit of trial i to the good runs.
func (w *worker) fit(i int) judge.Fitted {
	if f := w.fast(i); f != nil {
		return f
	}
	return w.general(&w.trials[i])
}

// fast returns the fit of trial i by one of those that are made once an order; nil where only the general one serves.
func (w *worker) fast(i int) judge.Fitted {
	switch tr := &w.trials[i]; {
	case tr.plan.Analysis.Noise == design.NoiseByLevel:
		w.own[i].Order(w.treatment, w.good)
		return w.own[i]
	case tr.beyond:
	case !w.plan.Block.Fixed && w.cells[i].Repeats(w.treatment, w.good):
		if w.cells[i].Order(w.treatment, w.good) {
			return w.cells[i]
		}
	case w.fits[i].Order(w.treatment, w.good):
		return w.fits[i]
	}
	return nil
}

// look judges what is still open at a look, one of several or the only one. Once ctx ends it leaves the rest undone.
func (w *worker) look(ctx context.Context, i int, l *look, several bool) {
	open := false
	for r, m := range w.responses {
		open = open || w.pending(r, m)
	}
	if !open {
		return
	}
	for s := range w.good {
		w.good[s] = w.made[s] && s < l.Blocks*w.length
	}
	by := w.fit(i)
	for r, m := range w.responses {
		if ctx.Err() != nil {
			return
		}
		if !w.pending(r, m) {
			continue
		}
		w.nothing(m, r)
		by.Solve(w.y, w.values)
		for k := range w.factors {
			c, f, j := &w.histories[r][k], &w.factors[k], &w.reading
			j.Turn(&m.Question, &f.Factor, by.Precision(k), &w.values[k])
			j.By(l.crit)
			c.nothing.take(j.Comparison(f.level, f.against), l.Blocks)
			if !several {
				c.alarm = j.Differs()
				continue
			}
			if c.open {
				differs, open := j.Standing()
				c.alarm, c.open = c.alarm || differs, open
			}
			if c.plainOpen {
				j.By(w.plain)
				differs, open := j.Standing()
				c.plainAlarm, c.plainOpen = c.plainAlarm || differs, open
			}
		}
		if math.IsNaN(m.truth) {
			continue
		}
		for k := range w.factors {
			f := &w.factors[k]
			if m.Terms == compare.InPercent {
				w.differing(m, r, k)
				by.Solve(w.y, w.values)
			} else {
				w.values[k].Shift(f.level, m.truth) // as the fit would: it is in the model's span
			}
			w.reading.Turn(&m.Question, &f.Factor, by.Precision(k), &w.values[k])
			w.reading.By(l.crit)
			w.histories[r][k].differing.take(w.reading.Comparison(f.level, f.against), l.Blocks)
		}
	}
}

// pending reports whether something of response r is not settled yet.
func (w *worker) pending(r int, m *judged) bool {
	for k := range w.factors {
		if !w.histories[r][k].ended(m) {
			return true
		}
	}
	return false
}
