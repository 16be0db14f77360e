package analysis

import (
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/size"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// explained are the model of the columns with its drift and without. What the response is does not
// matter to variances. Whole plots enter as blocks, which tells what lies between them; how precise comparisons are
// is computed by fits in which they vary as is assumed, nil without whole plots.
type explained struct {
	with, without               *linmod.Result
	betweenWith, betweenWithout *size.PlotFit
	carried                     float64 // share of the precision that carry-over in the model leaves
}

func fits(d verdict.Data) (e explained, err error) {
	m := linmod.Model{Blocks: slices.Concat(d.Recovered, d.Blocks, d.Random), Covariates: d.Covariates, Factors: d.Treatments, Order: 1}
	y := make([]float64, len(d.Treatments[0].Code))
	e.with, err = linmod.Fit(m, y)
	if err != nil {
		return e, err
	}
	e.betweenWith = size.AssumePlots(d, AssumedSpread)
	steady := func(f linmod.Factor) bool { return f.Name == question.PositionColumn }
	d.Covariates, d.Blocks = nil, slices.DeleteFunc(slices.Clone(d.Blocks), steady)
	m.Covariates = nil
	m.Blocks = slices.DeleteFunc(slices.Clone(m.Blocks), steady)
	e.betweenWithout = size.AssumePlots(d, AssumedSpread)
	e.without, err = linmod.Fit(m, y)
	return e, err
}

// explainFamily lists the comparisons of the levels of treatment factor k, judged by the noise of the
// strata. average is what the factor adds to the average variance of a difference between two treatments,
// of which a share of 2/L² differs by either of two of its L levels, up to a factor that all have.
func explainFamily(c *design.Plan, family question.Family, f linmod.Factor, k int, fit explained, strata []order.Stratum) (x ExplainedFamily, average ExplainedPair, err error) {
	n := len(f.Levels)
	x = ExplainedFamily{Factors: family.Factors, Levels: family.Levels, Comparisons: []ExplainedPair{}, Responses: []Detectable{}}
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
				pair.Variance, pair.WithoutDrift = fit.betweenWith.Difference(k, j, i), fit.betweenWithout.Difference(k, j, i)
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
	if weakest /= fit.carried; weakest > 0 {
		p := power.Precision{SE: math.Sqrt(weakest), DF: float64(strata[len(strata)-1].DF)}
		if x.Between > 0 {
			p.DF = float64(strata[0].DF)
		}
		for _, r := range c.Responses {
			x.Responses = append(x.Responses, detectable(c, r, n, p))
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
	d := Detectable{Name: r.Name, Unit: r.Unit, Margin: question.MarginOf(r.Margin), InNoise: verdict.Unknown, Value: verdict.Unknown}
	compare := size.TestOf(c, levels)
	in, err := compare.Detectable(c.Analysis.Power, 1, p)
	if err != nil {
		return d
	}
	d.InNoise = verdict.Number(in)
	if !r.Noise.Set {
		return d
	}
	sd := r.Noise.Value
	d.Relative, d.Value = r.Noise.Relative, verdict.Number(in*sd)
	if r.Scale == design.ScaleLog && r.Noise.Relative {
		d.Value = verdict.Number(math.Expm1(in * math.Sqrt(math.Log1p(sd*sd))))
	}
	return d
}
