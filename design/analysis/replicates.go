package analysis

import (
	"errors"
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// Replicates says how many blocks it takes to find the margins. As JSON it is
// the schema "fairrun.replicates/1".
type Replicates struct {
	Schema    string           `json:"schema"`
	Campaign  verdict.Campaign `json:"campaign"`
	Stage     string           `json:"stage"` // "before" results, from assumed noise; "after", from measured noise
	Block     string           `json:"block"` // what the plan calls a block
	Alpha     float64          `json:"alpha"`
	Power     float64          `json:"power"`
	Compare   string           `json:"compare"`
	Looks     int              `json:"looks"`
	Inflation verdict.Number   `json:"looks_inflation"`   // runs that the looks cost, over those without: 1 with one look
	Spread    verdict.Number   `json:"whole_plot_spread"` // between whole plots over between runs, as assumed; null where it is measured or there are none
	Pilot     string           `json:"pilot"`             // where the noise is from, "" when it is assumed, or measured here
	Rig       string           `json:"rig"`               // the plan's, where it has a record of noise that was read; otherwise ""
	Units     int              `json:"units"`             // of one type, that the plan tests; 0 when it does not say
	Unit      string           `json:"unit"`              // what the plan calls a unit; "" when it has none
	Responses []Enough         `json:"responses"`
}

// Stages of a campaign.
const (
	Before = "before"
	After  = "after"
)

// Enough says what is enough for one response.
type Enough struct {
	Name      string          `json:"name"`
	Unit      string          `json:"unit"`
	Margin    *verdict.Margin `json:"margin"`
	Noise     Noise           `json:"noise"`
	Sizes     []Size          `json:"families"`
	Message   string          `json:"message"`   // why there is no number, "" when there is
	Caution   string          `json:"caution"`   // why the numbers are too bold, "" when nothing says so
	Interplay verdict.Number  `json:"interplay"` // how differently several units answer to a level (standard deviation), over the noise; null with one or none
	Split     *Split          `json:"split"`     // after results: how runs are best shared out; null where they all count alike
}

// Noise is the run-to-run standard deviation that the numbers rest on, in the
// terms of the margin: a share of the mean when the margin is one.
type Noise struct {
	SD       verdict.Number `json:"sd"`
	Low      verdict.Number `json:"sd_low"` // limits of the measured noise, null when it is assumed
	High     verdict.Number `json:"sd_high"`
	DF       verdict.Number `json:"df"`
	Measured bool           `json:"measured"`
	Source   string         `json:"source"` // in words: whose it is, where a record has to do with it; otherwise ""
	Kept     verdict.Number `json:"kept"`   // of the rig's record, where another is stated in its place; otherwise null
}

// Size says what is enough for one family of comparisons. Before results,
// points count the blocks of the whole campaign; after, further blocks.
type Size struct {
	Factor      string       `json:"factor"`
	Levels      int          `json:"levels"`
	Now         Point        `json:"now"`                 // the plan as it stands, or no further blocks
	Needed      *Point       `json:"needed"`              // smallest that finds a true difference as large as the margin; null: no affordable number would
	Settled     *Point       `json:"settled"`             // smallest that leaves no comparison unresolved, whatever its true difference
	Low         *Point       `json:"needed_if_noise_low"` // Needed at the limits of the measured noise
	High        *Point       `json:"needed_if_noise_high"`
	Assured     *Point       `json:"needed_assured"` // with the power averaged over what is not known about the noise
	Equal       *Point       `json:"equal"`          // smallest that shows levels without a true difference to be equal within the margin
	Asked       *Point       `json:"asked"`          // the size that was asked for; null: none was
	NeededUnits *UnitsPoint  `json:"needed_units"`   // smallest number of units, each with as many blocks as the plan gives to one, that finds it; null: one or none, or no affordable number
	ByUnits     []UnitsPoint `json:"by_units"`       // what numbers of units achieve; empty with one or none
	Most        int          `json:"most"`           // the largest number of blocks tried
	Curve       []Point      `json:"curve"`
	Open        []Open       `json:"unresolved"` // after results: what is still unresolved
}

// Open is a comparison that is still unresolved.
type Open struct {
	Level   string `json:"level"`
	Against string `json:"against"`
	Blocks  *int   `json:"further_blocks"` // that settle it, whatever its true difference; null: no affordable number
}

// Point is what a campaign of one size achieves.
type Point struct {
	Blocks     int            `json:"blocks"`
	Runs       int            `json:"runs"`
	PerLevel   int            `json:"runs_per_level"`
	Power      verdict.Number `json:"power"`
	Detectable verdict.Number `json:"detectable"`  // smallest difference found with the power asked for, in the terms of the margin
	Equal      verdict.Number `json:"power_equal"` // chance to show levels without a true difference to be equal within the margin
	Hours      verdict.Number `json:"hours"`       // null without a budget
}

// shape is what a plan's blocks offer one family of comparisons.
type shape struct {
	plan    *design.Plan
	factor  string
	levels  int
	design  power.Design
	compare power.Comparison
	plots   *plots           // nil without whole plots
	units   *interplay       // nil with one unit or none
	drawn   *order.Drawn     // an order of the plan, where precision is that of it; otherwise nil
	most    int              // blocks that are tried
	agreed  *power.Precision // where blocks answer differently: that of how far those done agree
	done    float64          // blocks' worth of runs that are made, after results
}

// shapes lists the families of a plan, as the verdict makes them. Several looks count
// as information that is lost.
func shapes(c *design.Plan, efficiency float64) []shape {
	free := c.Freedom()
	d := power.Design{
		Treatments: c.TreatmentsPerBlock(), Blocks: c.Block.Count, Replicates: c.Block.Replicates, RunsPerBlock: c.Block.Runs,
		Terms: free.Treatments, Drift: free.Drift + free.Covariates, Efficiency: efficiency / inflation(c),
	}
	if !c.Drift.Shared && c.Drift.Model != design.DriftPosition {
		d.Drift, d.OwnDrift = free.Covariates, free.Drift/c.Block.Count
	}
	add := func(name string, levels int) shape {
		d.Compared = levels
		return shape{plan: c, factor: name, levels: levels, design: d, plots: plotsOf(c), most: mostBlocks, done: float64(c.Block.Count),
			compare: power.Comparison{Family: familyOf(c, levels), Alpha: c.Analysis.Alpha}}
	}
	if c.Interactions && len(c.Factors) > 1 {
		var names []string
		for _, f := range c.Factors {
			names = append(names, f.Name)
		}
		return []shape{add(linmod.TermName(names...), d.Treatments)}
	}
	var out []shape
	for _, f := range c.Factors {
		out = append(out, add(f.Name, len(f.Levels)))
	}
	return out
}

// shapesSoFar lists the families of a campaign, some of whose blocks are done.
func shapesSoFar(s *sheet.Sheet) []shape {
	out := shapes(s.Campaign, kept(&s.Draw.Order))
	p := progressOf(s)
	for i := range out {
		out[i].done = p.share * float64(p.blocks)
	}
	return out
}

// growth is how a campaign grows by further blocks.
func growth(s *sheet.Sheet) verdict.Growth {
	families := shapesSoFar(s)
	replicates := float64(s.Campaign.DrawnPerBlock()) / float64(len(s.Campaign.Treatments()))
	return func(family string, _ int, now power.Precision) (power.Growth, float64) {
		for _, f := range families {
			if f.factor == family {
				return f.moreBlocks(now), replicates
			}
		}
		return families[0].moreBlocks(now), replicates // one factor with the others held
	}
}

// familyOf is the law of a plan's family of comparisons.
func familyOf(c *design.Plan, levels int) compare.Family {
	switch c.Analysis.Compare {
	case design.CompareBaseline:
		return compare.Baseline{Levels: levels}
	case design.CompareBest:
		return compare.Best{Levels: levels}
	}
	return compare.Pairs{Levels: levels}
}

// terms turns differences on the scale of the analysis into the terms of the
// margin and back.
type terms struct{ log bool }

func (t terms) from(margin float64) float64 {
	if t.log {
		return math.Log1p(margin)
	}
	return margin
}

func (t terms) to(difference float64) verdict.Number {
	if t.log {
		return verdict.Number(math.Expm1(difference))
	}
	return verdict.Number(difference)
}

// noise turns a standard deviation on the scale of the analysis into the terms of
// the margin: one of logs, s, is a relative one of √(exp(s²) − 1), as for the
// lognormal law.
func (t terms) noise(sd float64) verdict.Number {
	if t.log {
		return verdict.Number(math.Sqrt(math.Expm1(sd * sd)))
	}
	return verdict.Number(sd)
}

// point is what some blocks achieve.
func (s shape) point(t power.Target, g power.Growth, blocks int, in terms) Point {
	return s.pointAt(t, g.At(blocks), blocks, in)
}

// pointAt is what some blocks achieve that offer precision at.
func (s shape) pointAt(t power.Target, at power.Precision, blocks int, in terms) Point {
	plan := *s.plan
	plan.Block.Count = blocks
	p := Point{Blocks: blocks, Runs: blocks * s.plan.RunsPerBlock(), Power: verdict.Unknown, Detectable: verdict.Unknown, Equal: verdict.Unknown, Hours: verdict.Unknown}
	p.PerLevel = p.Runs / s.levels
	if blocks > 0 {
		if hours := cost.Of(&plan).Time.Hours(); hours > 0 {
			p.Hours = verdict.Number(hours)
		}
	}
	if answer, err := s.compare.Reach(t, at); err == nil {
		p.Power, p.Detectable = verdict.Number(answer.Power), in.to(answer.Detectable)
	}
	if equal, err := s.compare.Equivalence(t.Margin, 0, t.Noise.SD, at); err == nil {
		p.Equal = verdict.Number(equal)
	}
	return p
}

// needed is the smallest number of blocks that reaches the target; nil when no
// affordable number does.
func (s shape) needed(t power.Target, g power.Growth, in terms) *Point {
	answer, err := s.compare.Needed(t, g, max(g.Least, s.most))
	return s.found(answer, err, t, g, in)
}

func (s shape) found(answer power.Answer, err error, t power.Target, g power.Growth, in terms) *Point {
	if err != nil || answer.Short {
		return nil
	}
	t.Goal = power.Find
	p := s.point(t, g, answer.N, in)
	return &p
}

// size fills in what is enough for one family; asked is a size of interest, 0 if none
// is.
func (s shape) size(t power.Target, g power.Growth, now, asked int, in terms) Size {
	z := Size{Factor: s.factor, Levels: s.levels, Most: s.most, Now: s.point(t, g, now, in), Needed: s.needed(t, g, in), Open: []Open{}, Curve: []Point{}, ByUnits: []UnitsPoint{}}
	if s.plan.Analysis.Compare != design.CompareBest {
		settle := t
		settle.Goal = power.Settle
		z.Settled = s.needed(settle, g, in)
	}
	equal := t
	equal.Goal = power.Equal
	z.Equal = s.needed(equal, g, in)
	marks := []int{now}
	if z.Needed != nil {
		marks = append(marks, z.Needed.Blocks)
	}
	if asked > 0 {
		p := s.point(t, g, asked, in)
		z.Asked = &p
		marks = append(marks, asked)
	}
	for _, n := range steps(g.Least, marks) {
		if p := s.point(t, g, n, in); p.Power.Known() && n <= max(s.most, now, asked) {
			z.Curve = append(z.Curve, p)
		}
	}
	return z
}

// steps lists a dozen or so numbers of blocks from the least to a little more
// than the largest of some marks, all of which are among them.
func steps(least int, marks []int) []int {
	last := max(least, slices.Max(marks)) + 2
	for n := least; n <= last; n += max(1, (last-least+9)/10) {
		marks = append(marks, n)
	}
	slices.Sort(marks)
	return slices.Compact(marks)
}

// errors of a response that no number can be given for.
var (
	errNoMargin = errors.New("no margin is stated: say in the plan what difference would matter")
	errNoNoise  = errors.New("no noise is stated: write in the plan what you expect from run to run (a guess will do), or measure first")
	errUnits    = errors.New("margin and noise are stated in different terms: give both in per cent, or both in the unit")
)

// Enough says whether, for every response that has an answer, the plan (before
// results) or what is done (after) is enough.
func (r *Replicates) Enough() bool {
	for _, e := range r.Responses {
		for _, z := range e.Sizes {
			if z.Needed == nil || z.Needed.Blocks > z.Now.Blocks {
				return false
			}
		}
	}
	return true
}
