package analysis

import (
	"math"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// Explanation says how good a drawn order is for the questions its plan asks.
type Explanation struct {
	Efficiency verdict.Number    `json:"efficiency"` // of all comparisons under drift, noise between whole plots counted; null where some cannot be made
	Families   []ExplainedFamily `json:"families"`
	Treatments []Placed          `json:"treatments"`
	Neighbours [][]int           `json:"neighbours"` // how often treatment j follows directly after i in a block
	Strata     []order.Stratum   `json:"strata"`
	Confounded []string          `json:"confounded"` // in words: what cannot be told from what
	Between    []BetweenBlocks   `json:"interactions_between_blocks"`
	DF         int               `json:"df"`         // left to judge the noise by, covariates taken off
	Covariates []string          `json:"covariates"` // that the comparisons will be adjusted for
	Widening   verdict.Number    `json:"widening"`   // of an interval by that, as a share, on average over covariates that tell nothing; null without any
	Orders     lot.Count         `json:"orders"`     // that the randomisation test can be made over
}

// ExplainedFamily is a family of comparisons, as the verdict will make it.
type ExplainedFamily struct {
	Factor      string          `json:"factor"`
	Levels      int             `json:"levels"`
	Comparisons []ExplainedPair `json:"comparisons"`
	Between     int             `json:"between_whole_plots"` // comparisons between whole plots, which runs do not judge
	Open        int             `json:"open"`                // comparisons that cannot be made
	Detectable  []Detectable    `json:"detectable"`
}

// AssumedSpread is how much whole plots are taken to vary, over the noise between
// runs, until a pilot tells.
const AssumedSpread = 1.0

// ExplainedPair is one comparison. Variances are multiples of that of one run.
type ExplainedPair struct {
	Level        string  `json:"level"`
	Against      string  `json:"against"`
	Variance     float64 `json:"variance"`
	WithoutDrift float64 `json:"variance_without_drift"`
	Between      bool    `json:"between_whole_plots"` // the variances rest on AssumedSpread
}

// Detectable is the smallest true difference that the least precise comparison of
// a family finds with the power of the plan.
type Detectable struct {
	Response string          `json:"response"`
	Unit     string          `json:"unit"`
	Margin   *verdict.Margin `json:"margin"`
	Relative bool            `json:"relative"` // Value is a share of the mean
	InNoise  verdict.Number  `json:"in_noise"` // as a multiple of the noise, whatever that is
	Value    verdict.Number  `json:"value"`    // for the noise that the plan assumes; null without one
}

// Placed says how the runs of a treatment lie within the blocks: its correlation with a straight and with a
// parabolic course that is the same in all blocks, and with all that the drift of the plan takes out.
type Placed struct {
	Treatment string         `json:"treatment"`
	Runs      int            `json:"runs"` // that are analysed
	Linear    verdict.Number `json:"correlation_with_order"`
	Quadratic verdict.Number `json:"correlation_with_curve"`
	Drift     verdict.Number `json:"correlation_with_drift"` // multiple; null where the plan takes out no drift
}

// Explain says how good the order of a sheet is. The variances are those of the
// model that the verdict fits, with and without its drift, if every run succeeds
// and is made in the order drawn. The noise is the plan's or that kept of its rig.
func Explain(s *sheet.Sheet) (*Explanation, error) {
	c, err := Assumed(s.Campaign)
	if err != nil {
		return nil, err
	}
	o := &s.Draw.Order
	plan := o.Whole()
	first, number := differing(c)
	e := &Explanation{
		Families: []ExplainedFamily{}, Strata: o.Strata(), Orders: o.Orders,
		Neighbours: order.Neighbours(len(first), renumbered(o.Blocks, number)), Confounded: confounded(c, o),
		Covariates: append([]string{}, c.Analysis.Covariates...),
	}
	e.Between = betweenBlocks(c, o)
	e.Confounded = append(e.Confounded, betweenInWords(c, e.Between)...)
	s = analysed(s)
	d := compared(s)
	e.Confounded = append(e.Confounded, apart(s, d)...)
	fit, err := fits(d)
	if err != nil {
		return nil, err
	}
	e.Widening = widening(fit.with.DF, len(e.Covariates))
	e.DF = fit.with.DF - len(e.Covariates)
	e.Strata[len(e.Strata)-1].DF = e.DF // with the plan's own model
	var drifting, steady float64
	for k, f := range d.Treatments {
		x, average, err := explainFamily(c, f, k, fit, e.Strata)
		if err != nil {
			return nil, err
		}
		e.Families = append(e.Families, x)
		drifting, steady = drifting+average.Variance, steady+average.WithoutDrift
	}
	e.Efficiency = verdict.Number(steady / drifting)
	e.place(c, plan, s)
	return e, nil
}

// widening is how much longer an interval gets on average, as a share, when it is adjusted for so many normal covariates
// that have to do with neither the settings nor the response; df are left before. By chance such a covariate differs
// between two settings; its adjustment adds
//
//	Δ'S⁻¹Δ,   of mean covariates / (df − covariates − 1)
//
// of itself to the variance of their difference, with Δ the differences over the standard error and S the residual
// sums of squares and products of the covariates (the mean of an inverted Wishart matrix; of one covariate
// that of 1/χ², 1/(df − 2)).
func widening(df, covariates int) verdict.Number {
	left := df - covariates - 1
	if covariates == 0 || left < 1 {
		return verdict.Unknown
	}
	return verdict.Number(math.Sqrt(1+float64(covariates)/float64(left)) - 1)
}

// compared are the columns of a sheet's runs at their planned positions, with the treatments as they are compared: each
// factor by itself or, with interactions, all as one.
func compared(s *sheet.Sheet) verdict.Data {
	position := make([]int, len(s.Runs))
	for i, r := range s.Runs {
		position[i] = r.Position
	}
	d := Columns(s, position)
	if c := s.Campaign; c.Interactions && len(c.Factors) > 1 {
		d.Treatments = []linmod.Factor{combined(s)}
	}
	return d
}

// combined is the treatment of every run as one factor, as the verdict compares
// combinations.
func combined(s *sheet.Sheet) linmod.Factor {
	var names []string
	for _, f := range s.Campaign.Factors {
		names = append(names, f.Name)
	}
	out := linmod.Factor{Name: strings.Join(names, ":"), Code: make([]int32, len(s.Runs))}
	for _, t := range s.Campaign.Treatments() {
		out.Levels = append(out.Levels, t.String())
	}
	for i, r := range s.Runs {
		out.Code[i] = int32(r.Treatment)
	}
	return out
}

// explained are the model of the columns with its drift and without. What the response is does not
// matter to variances. Whole plots enter as blocks, which tells what lies between them; how precise comparisons are
// is told by fits in which they vary as is assumed, nil without whole plots.
type explained struct {
	with, without               *linmod.Result
	betweenWith, betweenWithout *betweenPlotsFit
}

func fits(d verdict.Data) (e explained, err error) {
	m := linmod.Model{Blocks: slices.Concat(d.Recovered, d.Blocks, d.Random), Covariates: d.Covariates, Factors: d.Treatments, Order: 1}
	y := make([]float64, len(d.Treatments[0].Code))
	e.with, err = linmod.Fit(m, y)
	if err != nil {
		return e, err
	}
	e.betweenWith = assumedPlots(d, AssumedSpread)
	steady := func(f linmod.Factor) bool { return f.Name == positionColumn }
	d.Covariates, d.Blocks = nil, slices.DeleteFunc(slices.Clone(d.Blocks), steady)
	m.Covariates = nil
	m.Blocks = slices.DeleteFunc(slices.Clone(m.Blocks), steady)
	e.betweenWithout = assumedPlots(d, AssumedSpread)
	e.without, err = linmod.Fit(m, y)
	return e, err
}

// explainFamily lists the comparisons of the levels of treatment factor k, judged by the noise of the
// strata. average is what the factor adds to the average variance of a difference between two treatments,
// of which a share of 2/L² differs by either of two of its L levels, up to a factor that all have.
func explainFamily(c *design.Plan, f linmod.Factor, k int, fit explained, strata []order.Stratum) (x ExplainedFamily, average ExplainedPair, err error) {
	n := len(f.Levels)
	x = ExplainedFamily{Factor: f.Name, Levels: n, Comparisons: []ExplainedPair{}, Detectable: []Detectable{}}
	drifting, err := differences(fit.with, k, n)
	if err != nil {
		return x, average, err
	}
	steady, err := differences(fit.without, k, n)
	if err != nil {
		return x, average, err
	}
	plots := fit.betweenWith != nil && fit.betweenWithout != nil
	compared := comparedWith(c, f, k)
	weakest := 0.0
	for j := range n {
		for i := range n {
			if i >= j && !compared(j, i) {
				continue
			}
			pair := ExplainedPair{f.Levels[j], f.Levels[i], drifting(j, i), steady(j, i), false}
			open := math.IsNaN(pair.Variance)
			if plots {
				pair.Between = open
				pair.Variance, pair.WithoutDrift = fit.betweenWith.difference(k, j, i), fit.betweenWithout.difference(k, j, i)
			}
			if i < j {
				average.Variance += pair.Variance / float64(n*n)
				average.WithoutDrift += pair.WithoutDrift / float64(n*n)
			}
			switch {
			case !compared(j, i):
				continue
			case open && !plots:
				x.Open++
				continue
			case pair.Between:
				x.Between++
			}
			x.Comparisons = append(x.Comparisons, pair)
			weakest = max(weakest, pair.Variance)
		}
	}
	if weakest > 0 {
		p := power.Precision{SE: math.Sqrt(weakest), DF: float64(strata[len(strata)-1].DF)}
		if x.Between > 0 {
			p.DF = float64(strata[0].DF)
		}
		for _, r := range c.Responses {
			x.Detectable = append(x.Detectable, detectable(c, r, n, p))
		}
	}
	return x, average, nil
}

// comparedWith says of two levels of treatment factor k whether the plan compares the first against the second.
func comparedWith(c *design.Plan, f linmod.Factor, k int) func(j, i int) bool {
	if c.Analysis.Compare != design.CompareBaseline {
		return func(j, i int) bool { return i < j }
	}
	base := baselineLevel(c, f, k)
	return func(j, i int) bool { return i == base && j != base }
}

// baselineLevel is the level of treatment factor k that is the baseline, -1 for
// none.
func baselineLevel(c *design.Plan, f linmod.Factor, k int) int {
	if c.Interactions && len(c.Factors) > 1 {
		return c.BaselineTreatment()
	}
	return slices.Index(f.Levels, c.Factors[k].Baseline)
}

// differences returns the variance of the difference of two of n levels of factor
// k, as a multiple of that of one run: a function that returns NaN where the
// difference cannot be estimated. All come from the n-1 differences to level 0
// where those can be.
func differences(fit *linmod.Result, k, n int) (func(j, i int) float64, error) {
	means, err := fit.Means(k)
	if err != nil {
		return nil, err
	}
	row := func(j, i int) []float64 {
		w := make([]float64, n)
		w[j]++
		w[i]--
		return w
	}
	var rows [][]float64
	for j := 1; j < n; j++ {
		rows = append(rows, row(j, 0))
	}
	first := means.Contrasts(rows)
	at := func(j, i int) float64 {
		if j == 0 || i == 0 {
			return 0
		}
		return first.Cov.At(j-1, i-1)
	}
	known := func(j int) bool { return j == 0 || first.Estimable[j-1] }
	return func(j, i int) float64 {
		if known(j) && known(i) {
			return at(j, j) + at(i, i) - 2*at(j, i)
		}
		e := means.Contrasts([][]float64{row(j, i)})
		if !e.Estimable[0] {
			return math.NaN()
		}
		return e.Cov.At(0, 0)
	}, nil
}

// detectable is what comparisons of a precision find of one response.
func detectable(c *design.Plan, r design.Response, levels int, p power.Precision) Detectable {
	d := Detectable{Response: r.Name, Unit: r.Unit, Margin: marginOf(r.Margin), InNoise: verdict.Unknown, Value: verdict.Unknown}
	compare := power.Comparison{Family: familyOf(c, levels), Alpha: c.Analysis.Alpha}
	in, err := compare.Detectable(c.Analysis.Power, 1, p)
	if err != nil {
		return d
	}
	d.InNoise = verdict.Number(in)
	if !r.Noise.Set {
		return d
	}
	sd := r.Noise.Value
	scale := terms{log: r.Scale == design.ScaleLog && r.Noise.Relative}
	if scale.log {
		sd = math.Sqrt(math.Log1p(sd * sd))
	}
	d.Relative = r.Noise.Relative
	d.Value = scale.to(in * sd)
	return d
}

// differing returns the treatments of a plan that differ, as indexes into Treatments, and for each
// treatment its number among them: a screen may hold a combination several times.
func differing(c *design.Plan) (first, number []int) {
	seen := map[string]int{}
	for i, t := range c.Treatments() {
		name := t.String()
		if _, known := seen[name]; !known {
			seen[name] = len(first)
			first = append(first, i)
		}
		number = append(number, seen[name])
	}
	return first, number
}

// renumbered returns blocks with other numbers of treatments.
func renumbered(blocks [][]int, number []int) [][]int {
	out := make([][]int, len(blocks))
	for b, block := range blocks {
		for _, t := range block {
			out[b] = append(out[b], number[t])
		}
	}
	return out
}

// place fills in how the treatments lie in the order.
func (e *Explanation) place(c *design.Plan, plan order.Spec, s *sheet.Sheet) {
	first, number := differing(c)
	runs := make([]int, len(first))
	for _, r := range s.Runs {
		runs[number[r.Treatment]]++
	}
	effects := plan.Effects
	plan.Treatments, plan.Effects = len(first), nil
	if s.Draw.Order.Fold != nil && effects != nil { // it is they that join the treatments of either part
		for _, t := range first {
			plan.Effects = append(plan.Effects, effects[t])
		}
	}
	treatments := c.Treatments()
	blocks := renumbered(s.Draw.Order.Blocks, number)
	drift := order.DriftCorrelations(plan, blocks)
	q, err := order.Assess(plan, blocks)
	for i, t := range first {
		p := Placed{Treatment: treatments[t].String(), Runs: runs[i], Linear: verdict.Unknown, Quadratic: verdict.Unknown, Drift: verdict.Unknown}
		if err == nil {
			p.Linear = verdict.Number(q.LinearCorrelation[i])
			if q.QuadraticCorrelation != nil {
				p.Quadratic = verdict.Number(q.QuadraticCorrelation[i])
			}
		}
		if c.Drift.Model != design.DriftNone {
			p.Drift = verdict.Number(drift[i])
		}
		e.Treatments = append(e.Treatments, p)
	}
}
