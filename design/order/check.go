package order

import (
	"fmt"
	"math"
	"slices"

	"fairrun/stats/words"
)

// ImpossibleError reports a plan that no order can serve.
type ImpossibleError struct {
	Reason  string // what is missing, in numbers
	Nearest *Spec  // the closest plan that is possible, nil if none is close
}

func (e *ImpossibleError) Error() string { return "order: " + e.Reason }

// maxRuns bounds the runs of a plan so that sums over it fit an int64.
const maxRuns = 100_000

// MaxTreatments is the most treatments that an order is drawn for. Far fewer can be compared on a
// bench; more are screened first.
const MaxTreatments = 200

// check returns an *ImpossibleError if no order can serve p.
func (p Spec) check() error {
	for _, check := range []func() error{
		p.checkSize, p.checkSessions, p.checkDrift, p.checkFixedRuns, p.checkWholePlots, p.kind().checkKind, p.checkEffects, p.checkEstimable,
	} {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

func (p Spec) checkSize() error {
	switch {
	case p.Treatments < 2:
		return p.impossible(func(q *Spec) { q.Treatments = 2 },
			"%s cannot be compared; at least 2 are needed", words.Count(p.Treatments, "treatment"))
	case p.Treatments > MaxTreatments:
		return p.impossible(nil, "%d treatments are more than the %d that an order is drawn for", p.Treatments, MaxTreatments)
	case p.Blocks < 1:
		return p.impossible(func(q *Spec) { q.Blocks = 1 },
			"a plan needs at least 1 block; it has %d", p.Blocks)
	case p.Runs < 0 || p.Runs == 1:
		return p.impossible(func(q *Spec) { q.Runs = 2 },
			"a block of %s compares nothing; at least 2 are needed", words.Count(p.Runs, "run"))
	case p.Runs > 0 && p.Replicates != 0:
		return p.impossible(func(q *Spec) { q.Replicates = 0 },
			"a block has either %s of each treatment or %s in all, not both", words.Count(p.Replicates, "run"), words.Count(p.Runs, "run"))
	case p.Runs == 0 && p.Replicates < 1:
		return p.impossible(func(q *Spec) { q.Replicates = 1 },
			"each treatment needs at least 1 run in each block; it has %d", p.Replicates)
	case p.Blocks > maxRuns || p.Replicates > maxRuns || p.Runs > maxRuns || p.runs() > maxRuns:
		return p.impossible(nil, "%s of %s are more than %d runs", words.Count(p.Blocks, "block"), p.blockWords(), maxRuns)
	}
	return nil
}

func (p Spec) checkDrift() error {
	switch p.Drift {
	case Position:
		if p.Blocks < 2 {
			return p.impossible(func(q *Spec) { q.Blocks = 2 },
				"drift of any shape over position needs at least 2 blocks that share it; there is 1")
		}
		return nil
	case "", None, Linear, Quadratic, Curve:
		return nil
	}
	return p.impossible(nil, "drift model %q is not one of none, linear, quadratic, curve, position", string(p.Drift))
}

func (p Spec) checkFixedRuns() error {
	length := p.runsPerBlock() + max(0, p.Warmup) + len(p.Reference)
	switch {
	case p.Warmup < 0:
		return p.impossible(func(q *Spec) { q.Warmup = 0 }, "a block cannot have %d warm-up runs", p.Warmup)
	case p.Baseline < 0 || p.Baseline >= p.Treatments:
		return p.impossible(func(q *Spec) { q.Baseline = 0 }, "the baseline is treatment %d; the plan has %d treatments, from 0", p.Baseline, p.Treatments)
	}
	for i, at := range p.Reference {
		if at < p.Warmup || at >= length {
			return p.impossible(nil, "a reference run stands at position %d; with %s and %s positions %d to %d are open",
				at, words.Count(p.Warmup, "warm-up run"), words.Count(length-p.Warmup, "further run"), p.Warmup, length-1)
		}
		if slices.Contains(p.Reference[:i], at) {
			return p.impossible(func(q *Spec) { q.Reference = slices.Delete(slices.Clone(p.Reference), i, i+1) },
				"two reference runs stand at position %d", at)
		}
	}
	return nil
}

func (p Spec) checkWholePlots() error {
	if p.WholePlots == nil {
		return nil
	}
	if len(p.WholePlots) != p.Treatments {
		return p.impossible(nil, "whole plots are given for %d of %d treatments", len(p.WholePlots), p.Treatments)
	}
	settings := slices.Max(p.WholePlots) + 1
	for s := range settings {
		if !slices.Contains(p.WholePlots, s) {
			return p.impossible(nil, "whole plots are numbered from 0 without gaps; no treatment has %d", s)
		}
	}
	if slices.Min(p.WholePlots) < 0 {
		return p.impossible(nil, "whole plots are numbered from 0; a treatment has %d", slices.Min(p.WholePlots))
	}
	return nil
}

func (p Spec) checkEffects() error {
	if p.Effects == nil {
		return nil
	}
	if len(p.Effects) != p.Treatments {
		return p.impossible(nil, "effects are given for %d of %d treatments", len(p.Effects), p.Treatments)
	}
	for t, row := range p.Effects {
		if len(row) != len(p.Effects[0]) || len(row) == 0 {
			return p.impossible(nil, "treatment %d has %s, treatment 0 has %d", t, words.Count(len(row), "effect"), len(p.Effects[0]))
		}
		for _, v := range row {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return p.impossible(nil, "an effect of treatment %d is no number", t)
			}
		}
	}
	if !slices.ContainsFunc(p.Effects, func(row []float64) bool { return !slices.Equal(row, p.Effects[0]) }) {
		return p.impossible(nil, "effects do not differ between treatments")
	}
	return nil
}

// checkEstimable counts what is fitted against the runs: a mean for each block, the drift
// terms and each independent comparison. Drift of degree k within a block also needs k+1 positions.
func (p Spec) checkEstimable() error {
	possible := func(q Spec) bool {
		return q.runs()+q.Blocks*len(q.Reference) >= q.parameters() && q.runsPerBlock()+len(q.Reference) > q.Drift.degree()
	}
	if possible(p) {
		return nil
	}
	need := p.parameters()
	nearest := func(q *Spec) {
		for range maxRuns {
			switch {
			case q.Runs == 0:
				q.Replicates++
			case q.blockGainsNothing():
				q.Runs++
			default:
				q.Blocks++
			}
			if possible(*q) {
				return
			}
		}
	}
	e := p.impossible(nearest, "")
	q := e.Nearest
	e.Reason = fmt.Sprintf("%s with %s need at least %s of %s; you have %d of %d, too few for the %d numbers to be estimated",
		words.Count(p.Treatments, "treatment"), p.driftWords(), words.Count(q.Blocks, "block"), words.Count(q.runsPerBlock(), "run"), p.Blocks, p.runsPerBlock(), need)
	return e
}

// blockGainsNothing reports whether blocks are too short: for the course of drift, or so that a
// further block brings as many means and drift terms as runs.
func (p Spec) blockGainsNothing() bool {
	n := p.Runs + len(p.Reference)
	return n <= p.Drift.degree() || p.Own && p.Drift != Position && n <= 1+p.Drift.degree()
}

// parameters is what is fitted: block means, drift and comparisons.
func (p Spec) parameters() int {
	return p.Blocks + p.driftTerms() + p.comparisons()
}

// comparisons is the number of independent comparisons between treatments.
func (p Spec) comparisons() int {
	if p.Effects != nil {
		_, side := p.basis()
		return side
	}
	return p.Treatments - 1
}

// impossible makes the error; change turns the plan into the nearest possible one.
func (p Spec) impossible(change func(*Spec), format string, args ...any) *ImpossibleError {
	e := &ImpossibleError{Reason: fmt.Sprintf(format, args...)}
	if change != nil {
		q := p
		change(&q)
		e.Nearest = &q
	}
	return e
}

// confounded is the error for a plan none of whose orders was found to tell treatments from drift.
func (p Spec) confounded() error {
	return p.impossible(func(q *Spec) {
		if q.Runs > 0 {
			q.Runs++
		} else {
			q.Replicates++
		}
	}, "no order of %s of %s was found in which all differences between the %d treatments can be distinguished from %s",
		words.Count(p.Blocks, "block"), p.blockWords(), p.Treatments, p.driftWords())
}

func (p Spec) blockWords() string {
	if p.Runs > 0 {
		return words.Count(p.Runs, "run")
	}
	return fmt.Sprintf("%d treatments with %s each", p.Treatments, words.Count(p.Replicates, "run"))
}

func (p Spec) driftWords() string {
	switch {
	case p.Drift == "" || p.Drift == None:
		return "no drift"
	case p.Drift == Position:
		return "drift of any shape over position"
	case p.Blocks == 1:
		return string(p.Drift) + " drift"
	case !p.Own:
		return "shared " + string(p.Drift) + " drift"
	}
	return "each block's own " + string(p.Drift) + " drift"
}
