package rehearse

import (
	"math"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/stats/compare"
	"fairrun/stats/verdict"
)

// Schema names the JSON format of [Rehearsal].
const Schema = "fairrun.rehearse/2"

// Rehearsal says how a plan fared on the simulated bench.
type Rehearsal struct {
	Schema     string           `json:"schema"`
	Campaign   verdict.Campaign `json:"campaign"`
	Seed       uint64           `json:"seed"`
	Campaigns  int              `json:"campaigns"` // of each order
	Runs       int              `json:"runs"`      // of each campaign
	Block      string           `json:"block"`     // what the plan calls a block
	Blocks     string           `json:"-"`         // and several of them
	Drift      design.Drift     `json:"drift"`     // the plan's
	Alpha      float64          `json:"alpha"`
	Power      float64          `json:"power"`
	Compare    string           `json:"compare"`
	Looks      *verdict.Looks   `json:"looks"`      // of the plan; null when it has one, at the end
	Covariates []string         `json:"covariates"` // that the plan's comparisons are adjusted for
	Unrelated  []string         `json:"unrelated"`  // those that the bench knows nothing of: noise
	Bench      Assumed          `json:"bench"`
	Cases      []Case           `json:"cases"` // each family of comparisons of each response
}

// Assumed is the bench: shares are of one, times in seconds, temperatures in °C and K.
type Assumed struct {
	Ambient     float64 `json:"ambient"`
	Heat        float64 `json:"heat"`
	WarmUp      float64 `json:"warm_up"`
	Run         float64 `json:"run"`
	Rest        float64 `json:"rest"`
	Swap        float64 `json:"swap"`
	Sag         float64 `json:"sag"`
	Drop        float64 `json:"drop"`
	Used        float64 `json:"used"`
	PackScatter float64 `json:"pack_scatter"`
	Failures    float64 `json:"failures"`
	Outliers    float64 `json:"outliers"`
	OutlierSize float64 `json:"outlier_size"`
	Specimens   int     `json:"specimens"` // of one type; 0 when the plan does not say
	Interplay   float64 `json:"interplay"` // standard deviation of how differently they answer, in units of the noise
	Stated      bool    `json:"stated"`    // by the plan; false: the bench that stands for a plan without [simulation]
}

// Case is one family of comparisons of one response. Differences are shares where the margin is
// relative, otherwise in the response's unit.
type Case struct {
	Response   string          `json:"response"`
	Unit       string          `json:"unit"`
	Scale      string          `json:"scale"`
	Margin     *verdict.Margin `json:"margin"`
	Noise      float64         `json:"noise"`   // standard deviation that was simulated, relative if Relative
	Volts      float64         `json:"volts"`   // exponents of the response's reaction to the bench
	Copper     float64         `json:"copper"`  //
	Factors    verdict.Factors `json:"factors"` // whose levels are compared; several: their combinations
	Level      string          `json:"level"`   // of the comparison that is rehearsed
	Against    string          `json:"against"` // likewise
	Difference verdict.Number  `json:"difference"`
	Relative   bool            `json:"relative"` // differences, bias and noise are shares
	Outcomes   []Outcome       `json:"outcomes"`
	Sentence   string          `json:"sentence"`
}

// Outcome says how one order fared under one analysis.
type Outcome struct {
	Order     string        `json:"order"`             // Drawn, Sorted or Random
	Drift     design.Drift  `json:"drift"`             // of the analysis
	Adjusted  []string      `json:"covariates"`        // of the analysis
	Problem   string        `json:"problem,omitempty"` // why there are no figures; all are null then
	Failed    float64       `json:"failed"`            // runs that failed in a campaign, on average
	Alarms    Rate          `json:"false_alarms"`      // campaigns with any comparison of the family called different when nothing differs, at any look until none is open
	Nothing   WordRates     `json:"nothing"`           // of the comparison that is rehearsed, when nothing differs: where it was settled, or at the end
	Differing *Finding      `json:"differing"`         // likewise when level differs; null without a difference to find
	Looks     *SeveralLooks `json:"several_looks"`     // null when the plan has one look
}

// SeveralLooks says what several looks bring and cost.
type SeveralLooks struct {
	Plain     Rate `json:"plain_false_alarms"` // each look judged at alpha, as if it were the only one
	Nothing   Rate `json:"blocks_nothing"`     // mean number of blocks until the comparison that is rehearsed is settled, all if it never is, when nothing differs
	Differing Rate `json:"blocks_differing"`   // likewise when level differs
}

// Finding says what becomes of a true difference.
type Finding struct {
	WordRates
	Found    Rate `json:"found"`       // clear of zero on the right side
	Bias     Rate `json:"bias"`        // mean of estimate less truth, in the terms of the difference
	Coverage Rate `json:"coverage"`    // of the interval, among campaigns in which there is one
	Without  Rate `json:"no_interval"` // campaigns in which there is none
}

// WordRates holds how often each verdict is given.
type WordRates struct {
	Matters    Rate `json:"matters"`
	Real       Rate `json:"real"`
	Trivial    Rate `json:"trivial"`
	Equal      Rate `json:"equal"`
	Unresolved Rate `json:"unresolved"`
}

// Rate is a figure with its Monte-Carlo standard error.
type Rate struct {
	Value verdict.Number `json:"value"`
	SE    verdict.Number `json:"se"`
}

var unknownRate = Rate{verdict.Unknown, verdict.Unknown}

// rate is the share of n campaigns. Its standard error √(p(1−p)/n) takes p = (count+1)/(n+2), the mean
// of what the count leaves possible (Laplace), so that a rate of none does not claim to be exact.
func rate(count, n int) Rate {
	if n == 0 {
		return unknownRate
	}
	p := float64(count+1) / float64(n+2)
	return Rate{verdict.Number(float64(count) / float64(n)), verdict.Number(math.Sqrt(p * (1 - p) / float64(n)))}
}

// rate is a mean with its standard error.
func (m mean) rate() Rate {
	if m.n < 2 {
		return unknownRate
	}
	n := float64(m.n)
	x := float64(m.sum) / n
	return Rate{verdict.Number(x), verdict.Number(math.Sqrt(max(0, float64(m.squares)/n-x*x) / (n - 1)))}
}

func wordRates(count [len(words)]int, n int) WordRates {
	var r [len(words)]Rate
	for i, c := range count {
		r[i] = rate(c, n)
	}
	return WordRates{Matters: r[0], Real: r[1], Trivial: r[2], Equal: r[3], Unresolved: r[4]}
}

// assumed is the bench of a plan.
func assumed(c *design.Plan) Assumed {
	s := simulation(c)
	a := Assumed{
		Ambient: s.Ambient, Heat: s.Heat, WarmUp: s.WarmUp.Seconds(), Run: s.Run.Seconds(), Rest: s.Rest.Seconds(), Swap: s.Swap.Seconds(),
		Sag: s.Sag, Drop: s.Drop, Used: s.Used, PackScatter: s.PackScatter,
		Failures: s.Failures, Outliers: s.Outliers, OutlierSize: s.OutlierSize, Interplay: s.Interplay, Stated: c.Simulation != nil,
	}
	if c.Specimens != nil {
		a.Specimens = c.Specimens.Count
	}
	return a
}

// result puts the tally of all campaigns into words and figures.
func (e *engine) result(t *tally) *Rehearsal {
	c := e.plan
	out := &Rehearsal{
		Schema: Schema, Campaign: question.Campaign(c), Seed: e.seed, Campaigns: t.campaigns, Runs: e.slots(),
		Block: c.Block.Name, Blocks: c.Block.Plural(), Drift: c.Drift, Alpha: c.Analysis.Alpha, Power: c.Analysis.Power, Compare: c.Analysis.Compare,
		Covariates: append([]string{}, c.Analysis.Covariates...), Unrelated: e.unrelated(), Bench: assumed(c), Cases: []Case{},
	}
	out.Looks = e.planned()
	for r, m := range e.responses {
		for k := range e.factors {
			out.Cases = append(out.Cases, e.caseOf(t, m, r, k))
		}
	}
	return out
}

// planned says when a plan's results are judged; nil when once, at the end.
func (e *engine) planned() *verdict.Looks {
	looks := e.trials[0].looks
	if len(looks) < 2 {
		return nil
	}
	out := &verdict.Looks{Of: len(looks), Done: verdict.Unknown, Fraction: verdict.Unknown, Level: verdict.Unknown, Inflation: verdict.Number(looks[0].Looks.Inflation)}
	for _, l := range looks {
		out.Blocks = append(out.Blocks, l.Blocks)
	}
	return out
}

func (e *engine) caseOf(t *tally, m *judged, r, k int) Case {
	p, f := m.plan, &e.factors[k]
	c := Case{
		Response: p.Name, Unit: p.Unit, Scale: p.Scale, Volts: m.response.Volts, Copper: m.response.Copper,
		Factors: f.factors, Level: f.labels[f.level], Against: f.labels[f.against],
		Relative: m.Terms != compare.InUnits, Difference: verdict.Unknown, Outcomes: []Outcome{},
	}
	if p.Margin.Set {
		c.Margin = &verdict.Margin{Value: p.Margin.Value, Relative: p.Margin.Relative}
	}
	if !math.IsNaN(m.truth) {
		c.Difference = verdict.Number(m.Terms.Stated(m.truth))
	}
	switch m.Terms {
	case compare.InLogs:
		c.Noise = math.Sqrt(math.Expm1(m.noise * m.noise))
	case compare.InPercent:
		c.Noise = m.noise / m.response.Base
	default:
		c.Noise = m.noise
	}
	for i, tr := range e.trials {
		c.Outcomes = append(c.Outcomes, e.outcome(&tr, t.trials[i], t.campaigns, m, r, k))
	}
	c.Sentence = c.sentence(e.plan.Block.Plural())
	return c
}

func (e *engine) outcome(tr *trial, t *trialTally, n int, m *judged, r, k int) Outcome {
	o := Outcome{Order: tr.order, Drift: tr.plan.Drift, Adjusted: append([]string{}, tr.plan.Analysis.Covariates...), Problem: tr.problem}
	if n > 0 {
		o.Failed = float64(t.failed) / float64(n)
	}
	if tr.problem != "" {
		n = 0
	}
	count := &t.cases[r][k]
	o.Alarms = rate(count.alarms, n)
	o.Nothing = wordRates(count.words, n)
	if len(tr.looks) > 1 {
		o.Looks = &SeveralLooks{Plain: rate(count.plain, n), Nothing: count.blocks.rate(), Differing: count.toDiffer.rate()}
	}
	if math.IsNaN(m.truth) {
		return o
	}
	d := &Finding{WordRates: wordRates(count.differ, n), Found: rate(count.found, n), Bias: unknownRate, Coverage: rate(count.covered, count.bounded), Without: rate(n-min(n, count.bounded), n)}
	if j := float64(count.judged); j > 1 {
		mean := count.errors / j
		se := math.Sqrt(max(0, count.errorsSqu-j*mean*mean) / (j - 1) / j)
		d.Bias = Rate{verdict.Number(m.Terms.Stated(mean)), verdict.Number(m.Terms.Stated(se))}
	}
	o.Differing = d
	return o
}
