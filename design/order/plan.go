package order

import "fmt"

// Version names the rule by which a plan and a seed become an order. It changes whenever
// any plan's order would.
const Version = 1

// DriftModel is the drift that is fitted beside the treatments and kept apart from them.
// The empty model is None.
type DriftModel string

const (
	None      DriftModel = "none"      // no drift within a block
	Linear    DriftModel = "linear"    // a straight line over the positions of a block
	Quadratic DriftModel = "quadratic" // a parabola over the positions of a block
)

// degree is the number of drift terms that a block, or all blocks together, have.
func (d DriftModel) degree() int {
	switch d {
	case Linear:
		return 1
	case Quadratic:
		return 2
	}
	return 0
}

// Plan says what is to be put in order.
type Plan struct {
	Treatments int        `json:"treatments"` // at least 2
	Blocks     int        `json:"blocks"`     // at least 1
	Replicates int        `json:"replicates"` // runs of each treatment in each block
	Drift      DriftModel `json:"drift"`
	Shared     bool       `json:"shared"` // one drift for all blocks; false: each block its own
}

// ImpossibleError reports a plan that no order can serve.
type ImpossibleError struct {
	Reason  string // what is missing, in numbers
	Nearest *Plan  // the closest plan that is possible, nil if none is close
}

func (e *ImpossibleError) Error() string { return "order: " + e.Reason }

// maxRuns bounds the runs of a plan so that sums over it fit an int64.
const maxRuns = 100_000

// check returns an *ImpossibleError if no order can serve p.
func (p Plan) check() error {
	switch {
	case p.Treatments < 2:
		return p.impossible(func(q *Plan) { q.Treatments = 2 },
			"%s cannot be compared; at least 2 are needed", count(p.Treatments, "treatment"))
	case p.Blocks < 1:
		return p.impossible(func(q *Plan) { q.Blocks = 1 },
			"a plan needs at least 1 block; it has %d", p.Blocks)
	case p.Replicates < 1:
		return p.impossible(func(q *Plan) { q.Replicates = 1 },
			"each treatment needs at least 1 run in each block; it has %d", p.Replicates)
	}
	switch p.Drift {
	case "", None, Linear, Quadratic:
	default:
		return p.impossible(nil, "drift model %q is not one of none, linear, quadratic", string(p.Drift))
	}
	if p.Treatments > maxRuns || p.Blocks > maxRuns || p.Replicates > maxRuns ||
		p.Treatments*p.Replicates > maxRuns || p.runs() > maxRuns {
		return p.impossible(nil, "%d treatments × %d replicates × %d blocks are more than %d runs",
			p.Treatments, p.Replicates, p.Blocks, maxRuns)
	}
	return p.checkEstimable()
}

// checkEstimable counts what is fitted against the runs: a mean for each block, the drift
// terms and a difference for each treatment but one. Drift of degree k within a block also
// needs k+1 positions.
func (p Plan) checkEstimable() error {
	need := p.Blocks + p.driftTerms() + p.Treatments - 1
	if p.runs() >= need && p.runsPerBlock() > p.Drift.degree() {
		return nil
	}
	more := func(q *Plan) {
		for q.runs() < q.Blocks+q.driftTerms()+q.Treatments-1 || q.runsPerBlock() <= q.Drift.degree() {
			q.Replicates++
		}
	}
	return p.impossible(more,
		"%s in %s cannot tell %d treatments from %s drift: %d numbers are to be estimated",
		count(p.runs(), "run"), count(p.Blocks, "block"), p.Treatments, p.driftWords(), need)
}

// impossible makes the error; change turns the plan into the nearest possible one.
func (p Plan) impossible(change func(*Plan), format string, args ...any) error {
	e := &ImpossibleError{Reason: fmt.Sprintf(format, args...)}
	if change != nil {
		q := p
		change(&q)
		e.Nearest = &q
	}
	return e
}

func (p Plan) driftWords() string {
	d := p.Drift
	if d == "" {
		d = None
	}
	if d.degree() > 0 && p.Blocks > 1 {
		if p.Shared {
			return "shared " + string(d)
		}
		return "each block's own " + string(d)
	}
	return string(d)
}

// runsPerBlock is n.
func (p Plan) runsPerBlock() int { return p.Treatments * p.Replicates }

// runs is N.
func (p Plan) runs() int { return p.Blocks * p.runsPerBlock() }

// driftTerms is the number of coefficients that describe drift in all blocks.
func (p Plan) driftTerms() int {
	if p.Shared {
		return p.Drift.degree()
	}
	return p.Blocks * p.Drift.degree()
}

// count is a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
