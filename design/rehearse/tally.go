package rehearse

import (
	"math"

	"fairrun/stats/compare"
)

// words lists the verdict words in the order of a tally.
var words = [...]compare.Word{compare.Matters, compare.Real, compare.Trivial, compare.Equal, compare.Unresolved}

func wordIndex(w compare.Word) int {
	for i, v := range words {
		if v == w {
			return i
		}
	}
	panic("rehearse: unknown verdict word")
}

// tally counts what came of some campaigns.
type tally struct {
	campaigns int
	trials    []*trialTally
}

type trialTally struct {
	failed int           // runs
	cases  [][]caseTally // of each response and factor
}

// caseTally counts what came of one response and factor.
type caseTally struct {
	alarms, plain     int             // campaigns with a false alarm; the same with each look judged as if it were the only one
	words, differ     [len(words)]int // of the comparison that is rehearsed, when nothing differs and when it does
	blocks, toDiffer  mean            // until that was settled
	found, covered    int
	judged            int     // campaigns in which the comparison could be made
	bounded           int     // of these, with an interval
	errors, errorsSqu float64 // estimate less truth: sum and sum of squares
}

// mean is that of whole numbers.
type mean struct{ n, sum, squares int }

func (m *mean) take(x int) { m.n, m.sum, m.squares = m.n+1, m.sum+x, m.squares+x*x }

func (m *mean) add(o mean) { m.n, m.sum, m.squares = m.n+o.n, m.sum+o.sum, m.squares+o.squares }

func newTally(e *engine) *tally {
	t := &tally{}
	for range e.trials {
		tr := &trialTally{}
		for range e.responses {
			tr.cases = append(tr.cases, make([]caseTally, len(e.factors)))
		}
		t.trials = append(t.trials, tr)
	}
	return t
}

// count counts a campaign: once all levels are equal, once one differs by truth. A difference counts as found when
// it is clear of zero on the right side.
func (c *caseTally) count(of *history, truth float64) {
	if of.alarm {
		c.alarms++
	}
	if of.plainAlarm {
		c.plain++
	}
	c.words[wordIndex(of.nothing.Word)]++
	c.blocks.take(of.nothing.blocks)
	if math.IsNaN(truth) {
		return
	}
	i := of.differing
	c.differ[wordIndex(i.Word)]++
	c.toDiffer.take(i.blocks)
	if math.IsNaN(i.Estimate) {
		return
	}
	c.judged++
	if i.Word.Differs() && i.Estimate*truth > 0 {
		c.found++
	}
	if !math.IsNaN(i.Low) && !math.IsNaN(i.High) {
		c.bounded++
	}
	if i.Low <= truth && truth <= i.High {
		c.covered++
	}
	d := i.Estimate - truth
	c.errors += d
	c.errorsSqu += d * d
}

// add adds other campaigns.
func (t *tally) add(u *tally) {
	t.campaigns += u.campaigns
	for i, tr := range t.trials {
		tr.failed += u.trials[i].failed
		for r := range tr.cases {
			for k := range tr.cases[r] {
				tr.cases[r][k].add(&u.trials[i].cases[r][k])
			}
		}
	}
}

func (c *caseTally) add(d *caseTally) {
	c.alarms += d.alarms
	c.plain += d.plain
	c.blocks.add(d.blocks)
	c.toDiffer.add(d.toDiffer)
	for i := range words {
		c.words[i] += d.words[i]
		c.differ[i] += d.differ[i]
	}
	c.found += d.found
	c.covered += d.covered
	c.judged += d.judged
	c.bounded += d.bounded
	c.errors += d.errors
	c.errorsSqu += d.errorsSqu
}
