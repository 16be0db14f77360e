package verdict

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// fit is the model of one response as fitted.
type fit struct {
	model     linmod.Model    // blocks, covariates and treatments
	random    []linmod.Factor // of the comparisons: blocks, then what else is a sample, then interplay
	interplay []linmod.Factor // of these: how differently specimens answer
	terms     []string        // of the treatments
	estimator estimator       // what the comparisons come from
	cells     *mixed.CellFit  // where blocks are a sample and hold runs of a treatment more than once; otherwise nil
	variance  float64         // of the residuals; 0 when there is none to speak of

	carry   *linmod.CarryOver // what runs take over, in the model; nil: it is not
	carried int               // covariates before those of carry

	// The same by least squares with what is random as blocks, for the checks: what runs do within it.
	within  linmod.Model
	squares *linmod.Result
}

// estimator is a fitted model as the comparisons need it: by least squares, or with
// random factors by REML.
type estimator interface {
	// method says how it was fitted and how degrees of freedom are found.
	method() (method, dfMethod string)
	// means are the adjusted means over the combinations of some factors.
	means(factors ...int) (*adjusted, error)
	// anova is the analysis of variance, joint the row of all treatment terms.
	anova() []ANOVARow
	joint() ANOVARow
	// at returns the contrasts of what the model expects at some points, noise included.
	at(points []linmod.Point) (contrasts func(rows [][]float64) *mixed.Estimates, err error)
	// sd is the noise from run to run, that differences are standardised by, and the degrees of freedom that it is known with.
	sd() (sd, df float64)
	// noise is what differs from run to run, and between what is random.
	noise(alpha float64) Noise
}

// adjusted are adjusted means with the covariances that the model gives them,
// noise included. Where there is no noise to speak of those are all zero.
type adjusted struct {
	levels    [][]int
	n         []int
	contrasts func(rows [][]float64) *mixed.Estimates
	strata    func(weights []float64) (mixed.Strata, bool) // nil where nothing is random
	pivot     func() (*mixed.Pivot, bool)                  // the same
	apart     bool                                         // treatments are judged by other degrees of freedom than the noise from run to run
}

// isRandom reports whether the comparisons are of a fit with random factors.
func (f *fit) isRandom() bool {
	_, random := f.estimator.(reml)
	return random
}

// fitModel fits blocks, covariates and treatments. An interaction order whose
// terms are all mixed up with other terms leaves the model. With an error the fit holds
// no more than the terms that it would have.
func fitModel(d *Data, q *Request, y []float64) (f *fit, said remarks, err error) {
	f = &fit{}
	order := 1
	if q.Interactions {
		order = len(d.Treatments)
	}
	covariates := d.covariates()
	if q.CarryOver {
		f.carry, f.carried = residualEffects(d, q, y), len(covariates)
		covariates = append(covariates, f.carry.Covariates...)
	}
	if !comparable(d.Treatments, y) {
		return f, nil, ErrNoComparison
	}
	for ; ; order-- {
		f.model = linmod.Model{Blocks: d.Blocks, Covariates: covariates, Factors: d.Treatments, Order: order}
		if f.squares, err = linmod.Fit(f.model, y); err != nil {
			return f, said, err
		}
		f.within = f.model
		lost := emptyTop(f.squares, order)
		if order == 1 || len(lost) == 0 {
			break
		}
		said.note("interaction", "%s cannot be distinguished from the blocks and the other terms in these runs; the comparisons take it as absent", strings.Join(lost, ", "))
	}
	for _, row := range f.squares.ANOVA() {
		if row.Kind == linmod.TreatmentTerm {
			f.terms = append(f.terms, row.Name)
		}
	}
	if len(d.random()) > 0 {
		more, err := f.fitRandom(d, y)
		said = append(said, more...)
		if q.ByLevel && err == nil {
			said = append(said, f.byLevels(d, y)...)
		}
		return f, said, err
	}
	f.bySquares()
	said = append(said, f.byCells(d, y)...)
	if q.ByLevel {
		said = append(said, f.byLevels(d, y)...)
	}
	return f, said, nil
}

// fitRandom fits the model with its random factors. The fit by least squares with
// those factors as blocks takes over where the runs do not show how
// large the random part of the noise is: what can be compared within it still is.
func (f *fit) fitRandom(d *Data, y []float64) (said remarks, err error) {
	f.interplay, said = repeated(d.Interplay, y)
	random := slices.Concat(d.Recovered, d.Random)
	r, left, unknown := mixed.FitInterplay(mixed.Model{Fixed: f.model, Random: random}, f.interplay, y)
	if left != nil {
		said.warn("random factors", "%v; how differently specimens answer is left out: the comparisons hold for those that were tested, not for their type", left)
		f.interplay = nil
	}
	f.random = slices.Concat(random, f.interplay)
	f.within = mixed.Model{Fixed: f.model, Random: f.random}.Within()
	if f.squares, err = linmod.Fit(f.within, y); err != nil {
		return said, err
	}
	if r != nil {
		f.estimator, f.variance = reml{r}, r.Sigma2
		return said, nil
	}
	if unknown != nil {
		said.warn("random factors", "%v; they are taken as blocks: only what differs within them is compared, and for those that were tested", unknown)
	}
	f.bySquares()
	return said, nil
}

// bySquares takes the comparisons from the fit by least squares.
func (f *fit) bySquares() {
	if f.squares.DF > 0 {
		f.variance = f.squares.Sigma2
	}
	f.estimator = leastSquares{f.squares, f.variance}
}

// repeated drops interplay of which every level has one run at the most: the noise
// between runs then holds it, and the comparisons are for specimens like these all the
// same.
func repeated(interplay []linmod.Factor, y []float64) (kept []linmod.Factor, said remarks) {
	for _, f := range interplay {
		if mixed.Repeats(f, func(row int) bool { return !math.IsNaN(y[row]) }) {
			kept = append(kept, f)
			continue
		}
		said.note("specimens", "%s: one run of each, so the noise from run to run holds how differently they answer", f.Name)
	}
	return kept, said
}

// emptyTop names the interaction terms of the given order when none of them
// has a degree of freedom of its own.
func emptyTop(fit *linmod.Result, order int) []string {
	var names []string
	for _, row := range fit.ANOVA() {
		if row.Kind != linmod.TreatmentTerm || len(row.Factors) != order {
			continue
		}
		if row.DF > 0 {
			return nil
		}
		names = append(names, row.Name)
	}
	return names
}

// comparable says whether some treatment factor has good runs at two levels.
func comparable(treatments []linmod.Factor, y []float64) bool {
	for _, f := range treatments {
		first := int32(-1)
		for i, v := range y {
			if math.IsNaN(v) || f.Code[i] < 0 {
				continue
			}
			if first >= 0 && f.Code[i] != first {
				return true
			}
			first = f.Code[i]
		}
	}
	return false
}

// random lists all random factors: blocks first.
func (d *Data) random() []linmod.Factor {
	return slices.Concat(d.Recovered, d.Random, d.Interplay)
}

// names are what factors are called.
func names(factors []linmod.Factor) []string {
	out := []string{}
	for _, f := range factors {
		out = append(out, f.Name)
	}
	return out
}

// describe says what the model is to hold, before it is fitted.
func describe(d *Data) Model {
	m := Model{Treatments: []string{}, Blocks: []string{}, Covariates: []string{}, Method: "least squares", DFMethod: "residual"}
	for _, b := range d.Blocks {
		m.Blocks = append(m.Blocks, b.Name)
	}
	for _, c := range d.covariates() {
		if name := covariateName(c); !slices.Contains(m.Covariates, name) {
			m.Covariates = append(m.Covariates, name)
		}
	}
	m.Random = names(d.random())
	return m
}

// fitted says what it holds as fitted.
func (m Model) fitted(f *fit) Model {
	m.Treatments = append(m.Treatments, f.terms...)
	if f.carry != nil && len(f.carry.Covariates) > 0 {
		m.Covariates = append(m.Covariates, linmod.CarryOverTerm)
	}
	if f.estimator != nil {
		m.Random = names(f.random)
		m.Method, m.DFMethod = f.estimator.method()
	}
	return m
}

// covariateName names a covariate, "x by block" when it has a slope of its own
// in each level of a factor.
func covariateName(c linmod.Covariate) string {
	name := cmp.Or(c.Term, c.Name)
	if c.By != nil {
		return name + " by " + c.By.Name
	}
	return name
}

// unused says which good runs the model could not take because a factor, a block
// or a covariate is missing: none leaves the verdict in silence.
func unused(used []bool, y []float64, rowName func(row int) string) (said remarks) {
	var rows []int
	for i, v := range y {
		if !math.IsNaN(v) && !used[i] {
			rows = append(rows, i)
		}
	}
	switch n := len(rows); {
	case n == 1:
		said.warn("runs left out", "%s has a result but lacks a level or a covariate, so it is left out: fill the cell in", rowName(rows[0]))
	case n > 1:
		said.warn("runs left out", "%d runs have a result but lack a level or a covariate, so they are left out (the first is %s): fill the cells in", n, rowName(rows[0]))
	}
	return said
}

// noNoise says why there is no noise to judge by, where there is none.
func (f *fit) noNoise() (said remarks) {
	switch r := f.squares; {
	case f.variance > 0:
	case r.DF == 0:
		said.warn("residual degrees of freedom", "%d runs and %d terms to estimate leave nothing to judge noise by: repeat some runs", r.N, r.Rank)
	case r.TSS == 0:
		said.warn("noise", "every run gave the same value, so there is no noise to judge by: record more digits, or the response does not react")
	default:
		said.warn("noise", "the model fits every run to the last digit, so there is no noise to judge by: record more digits, or repeat some runs")
	}
	return said
}
