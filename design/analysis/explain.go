package analysis

import (
	"math"

	"fairrun/design/blocks"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// Explanation says how good a drawn order is for the questions its plan asks.
type Explanation struct {
	Efficiency verdict.Number    `json:"efficiency"` // of all comparisons under drift, noise between whole plots counted; null where some cannot be made
	Families   []ExplainedFamily `json:"families"`
	Treatments []Placed          `json:"treatments"`
	Neighbours [][]int           `json:"neighbours"` // how often treatment j follows directly after i in a block
	Strata     []order.Stratum   `json:"strata"`
	Confounded []string          `json:"confounded"` // in words: what cannot be distinguished from what
	Between    []BetweenBlocks   `json:"interactions_between_blocks"`
	DF         int               `json:"df"`         // left to judge the noise by, covariates taken off
	Covariates []string          `json:"covariates"` // that the comparisons will be adjusted for
	Widening   verdict.Number    `json:"widening"`   // of an interval by that, as a share, on average over covariates that tell nothing; null without any
	Orders                       // that the randomisation test can be made over
}

// ExplainedFamily is a family of comparisons, as the verdict will make it.
type ExplainedFamily struct {
	Factors     verdict.Factors `json:"factors"` // whose levels are compared; several: their combinations
	Levels      []string        `json:"levels"`
	Comparisons []ExplainedPair `json:"comparisons"`
	Between     int             `json:"between_whole_plots"` // comparisons between whole plots, which runs do not judge
	Open        int             `json:"open"`                // comparisons that cannot be made
	Responses   []Detectable    `json:"responses"`           // none where no comparison can be made
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
	Name     string          `json:"name"` // of the response
	Unit     string          `json:"unit"`
	Margin   *verdict.Margin `json:"margin"`
	Relative bool            `json:"relative"`            // Value is a share of the mean
	InNoise  verdict.Number  `json:"detectable_in_noise"` // as a multiple of the noise, whatever that is
	Value    verdict.Number  `json:"detectable"`          // for the noise that the plan assumes; null without one
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
	c, err := size.Assumed(s.Campaign)
	if err != nil {
		return nil, err
	}
	o := &s.Draw.Order
	plan := o.Whole()
	first, number := differing(c)
	e := &Explanation{
		Families: []ExplainedFamily{}, Strata: o.Strata(), Orders: countOrders(o.Orders),
		Neighbours: blocks.Neighbours(len(first), renumbered(o.Blocks, number)), Confounded: confounded(c, o),
		Covariates: append([]string{}, c.Analysis.Covariates...),
	}
	e.Between = betweenBlocks(c, o)
	e.Confounded = append(e.Confounded, betweenInWords(c, e.Between)...)
	d := question.Compared(s)
	d.Covariates = linmod.WithoutCarryOver(d.Covariates) // what it costs is said apart
	s = question.Analysed(s)
	e.Confounded = append(e.Confounded, apart(s, d)...)
	fit, err := fits(d)
	if err != nil {
		return nil, err
	}
	e.Widening = widening(fit.with.DF, len(e.Covariates))
	e.DF = fit.with.DF - len(e.Covariates) - c.Freedom().CarryOver
	fit.carried = size.CarriedEfficiency(c, o)
	e.Strata[len(e.Strata)-1].DF = e.DF // with the plan's own model
	var drifting, steady float64
	families := question.Families(c)
	for k, f := range d.Treatments {
		x, average, err := explainFamily(c, families[k], f, k, fit, e.Strata)
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
