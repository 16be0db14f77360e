package verdict

import (
	"errors"
	"fmt"
	"math"

	"fairrun/stats/compare"
	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
	"fairrun/stats/words"
)

// Data is what was done and measured, one row a run; every column has the
// same number of rows.
type Data struct {
	Treatments []linmod.Factor    // the factors that are compared
	Blocks     []linmod.Factor    // packs, sessions, rows and columns
	Recovered  []linmod.Factor    // blocks that do not hold every treatment: random, to use what lies between them
	Interplay  []linmod.Factor    // treatments within each specimen: random, so that what the specimens agree on is judged
	Sample     []string           // names of those of Blocks that are a sample: the verdict is to hold for others like them
	Random     []linmod.Factor    // specimens, packs, whole plots: a sample of those the verdict is to hold for
	Parts      []linmod.Factor    // packs, sessions, specimens: random where the noise is reported by its components, whatever they are in the comparisons
	Covariates []linmod.Covariate // drift, and others that the treatments cannot move
	Noted      []linmod.Covariate // noted at the start of each run: adjusted for, and asked whether the treatments move them
	Responses  []Measured
	Before     []linmod.Factor      // the level of each treatment factor in the run done before in the same block, -1: none; nil: by Order and the first block
	Status     []Status             // nil: a row with a value is OK, one without is still to do
	Name       func(row int) string // what a person calls a row; nil: "row 1", …
	Order      []float64            // when each run was done, ascending; nil: in the order of the rows
	Draw       *Draw                // how the runs got their treatments; nil: no record of it

	// Apart says that blocks differ in the combinations that they hold by design, as those of a screen
	// and of its fold-over do: what the treatments do otherwise in one than in another is then their
	// interactions, not the blocks, and is not asked.
	Apart bool

	// Plurals are what several of a thing are called, by its name, where that is not the regular plural.
	Plurals map[string]string
}

// Measured is one response with what the person said of it.
type Measured struct {
	Name   string
	Unit   string
	Better string  // "higher", "lower", or "" when not stated
	Margin *Margin // nil when not stated
	Scale  Scale   // "" is Raw
	Values *decimal.Column
}

// Status is what became of a run.
type Status uint8

// What became of a run.
const (
	Todo   Status = iota // not done yet
	OK                   // done and measured
	Failed               // the thing under test did not do its job: an outcome
	Void                 // the test was spoiled
)

// Compare names the family of comparisons.
type Compare = compare.Kind

// Families of comparisons.
const (
	Pairs    = compare.KindPairs
	Baseline = compare.KindBaseline
	Best     = compare.KindBest
)

// Request says what is asked of the data.
type Request struct {
	Title, Scope string
	Holds        string   // in words: for what the verdict holds; "" where only the scope says it
	Interactions bool     // means and comparisons of the combinations of levels and, where all are planned, of each factor averaged over the others
	MainOnly     bool     // the runs are chosen to tell main effects, so that combinations cannot be compared instead
	CarryOver    bool     // what runs take over from the run before is in the model
	ByLevel      bool     // each level is judged by its own noise, not by the common one
	Chosen       [][]int  // combinations that the plan holds, as level indexes; nil: all
	Compare      Compare  // "" is Pairs
	Baseline     []string // one level a treatment factor, for Compare == Baseline
	OneSided     bool     // for Compare == Baseline: only "better than the baseline" is asked
	Contrasts    []Chosen // beside the comparisons
	Alpha        float64  // 0 is 0.05
	Power        float64  // 0 is 0.9; for the replicates still needed
	Growth       Growth   // nil: runs are added one at a time to each level, with no further blocks
	Looks        *Stage   // nil: this is the only look
	Family       Span     // what holds alpha together; "" is EachFactor
}

// Growth says how the precision of a comparison of a family grows by further blocks on top of what
// there is now, and how many replicates of each treatment one of them brings. Precisions are in
// terms of the information that the looks leave: the noise of now has their cost in it already.
type Growth func(family string, levels int, now power.Precision) (by power.Growth, replicates float64)

// A RequestError is a question that the data's columns cannot answer, whatever
// their numbers: the person has to ask differently.
type RequestError struct{ Text string }

func (e *RequestError) Error() string { return e.Text }

// ErrNoComparison says that fewer than two levels have a good run.
var ErrNoComparison = errors.New("fewer than two levels have a good run, so nothing can be compared")

func refuse(format string, args ...any) error {
	return &RequestError{Text: fmt.Sprintf(format, args...)}
}

// settled returns the request with its defaults filled in, or what is wrong
// with it.
func (q Request) settled(d Data) (Request, error) {
	if q.Compare == "" {
		q.Compare = Pairs
	}
	if q.Alpha == 0 {
		q.Alpha = 0.05
	}
	if q.Family == "" {
		q.Family = EachFactor
	}
	if q.Power == 0 {
		q.Power = 0.9
	}
	if q.Family != EachFactor && q.Family != WholeTable {
		return q, refuse("family is %q; it can be %q or %q", q.Family, EachFactor, WholeTable)
	}
	if len(d.Treatments) == 0 {
		return q, refuse("no treatment column: name at least one factor to compare")
	}
	for _, f := range d.Treatments {
		if len(f.Levels) > maxLevels {
			return q, refuse("%q has %d different levels; up to %d can be compared. Is it a measured number? Then name it as a covariate", f.Name, len(f.Levels), maxLevels)
		}
	}
	if n := combinations(d.Treatments); q.Interactions && n > maxLevels {
		return q, refuse("the treatment factors have %d combinations; up to %d can be compared. Leave out the interactions, or compare fewer factors", n, maxLevels)
	}
	if !(q.Alpha > 0 && q.Alpha < 1) {
		return q, refuse("alpha is %v; it must lie between 0 and 1, as 0.05 does", q.Alpha)
	}
	if !(q.Power > 0 && q.Power < 1) {
		return q, refuse("power is %v; it must lie between 0 and 1, as 0.9 does", q.Power)
	}
	switch q.Compare {
	case Pairs:
	case Best:
		if q.ByLevel {
			return q, refuse("with the best, levels are judged by a common noise: for a noise of each level compare all pairs, or with a baseline")
		}
		for _, r := range d.Responses {
			if r.Better == "" {
				return q, refuse("to compare with the best of %q, say whether higher or lower is better", r.Name)
			}
		}
	case Baseline:
		if len(q.Baseline) != len(d.Treatments) {
			return q, refuse("%d treatment factors need %d baseline levels, one each; got %d", len(d.Treatments), len(d.Treatments), len(q.Baseline))
		}
		for i, level := range q.Baseline {
			if index(d.Treatments[i].Levels, level) < 0 {
				return q, refuse("baseline %q is no level of %q; its levels are %s", level, d.Treatments[i].Name, words.List(words.Quoted(d.Treatments[i].Levels), mostNamed))
			}
		}
	default:
		return q, refuse("compare is %q; it can be %q, %q or %q", q.Compare, Pairs, Baseline, Best)
	}
	for _, r := range d.Responses {
		switch {
		case q.OneSided && q.Compare != Baseline:
			return q, refuse("only comparisons with a baseline can be one-sided")
		case q.OneSided && r.Better == "":
			return q, refuse("to ask whether %q is better than the baseline, say whether higher or lower is better", r.Name)
		}
	}
	if err := q.checkContrasts(d); err != nil {
		return q, err
	}
	if err := q.Looks.check(); err != nil {
		return q, err
	}
	for _, r := range d.Responses {
		if r.Better != "" && r.Better != "higher" && r.Better != "lower" {
			return q, refuse("better is %q for response %s; it can be %q or %q", r.Better, r.Name, "higher", "lower")
		}
		if r.Scale != "" && r.Scale != Raw && r.Scale != Log {
			return q, refuse("scale is %q for response %s; it can be %q or %q", r.Scale, r.Name, Raw, Log)
		}
		if r.Margin != nil && !(r.Margin.Value > 0 && r.Margin.Value <= math.MaxFloat64) {
			return q, refuse("the margin of %q is %v; it must be a number above zero", r.Name, r.Margin.Value)
		}
		if r.Scale == Log && r.Margin != nil && !r.Margin.Relative {
			return q, refuse("the margin of %q is in its unit, but on the log scale only ratios are compared: give the margin in per cent, or use the raw scale", r.Name)
		}
	}
	return q, nil
}

// maxLevels bounds the levels of a family: 200 levels make 19,900 pairs.
const maxLevels = 200

// combinations counts the combinations of the factors' levels, up to a bound
// well over maxLevels.
func combinations(factors []linmod.Factor) int {
	n := 1
	for _, f := range factors {
		if n = n * len(f.Levels); n > 1<<30 {
			return n
		}
	}
	return n
}

func index(list []string, s string) int {
	for i, v := range list {
		if v == s {
			return i
		}
	}
	return -1
}

// mostNamed is how many levels a message lists.
const mostNamed = 12
