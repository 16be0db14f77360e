package judge_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/decimal"
	"fairrun/stats/judge"
	"fairrun/stats/law"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// campaign is a random campaign, as both judges take it.
type campaign struct {
	about     string
	balanced  bool // with the exact critical values of all families
	random    bool // something is
	treatment []int
	good      []bool
	y         []float64 // on the scale of the analysis
	model     judge.Model
	question  judge.Question
	criticals *judge.Criticals
	factors   []linmod.Factor
	families  []family
	data      verdict.Data
	request   verdict.Request
}

// family is one of comparisons: of a factor, of the combinations of all, or of averages over these.
type family struct {
	name   string
	levels []string
}

// newCampaign draws a campaign: some blocks of runs of one or two factors, with any drift, covariates, lost runs,
// random factors, family, scale, margin and look.
func newCampaign(rng, besides *rand.Rand) *campaign {
	c := &campaign{}
	levels := []int{2 + rng.IntN(4)}
	if rng.IntN(3) == 0 {
		levels = []int{2, 2 + rng.IntN(2)}
	}
	treatments := 1
	for _, n := range levels {
		treatments *= n
	}
	blocks, replicates := 3+rng.IntN(4), 1+rng.IntN(2)
	length := treatments * replicates
	if rng.IntN(5) == 0 && length > 3 {
		length-- // incomplete
	}
	c.balanced = length == treatments*replicates
	c.arrange(rng, blocks, length, treatments)
	c.compared(levels)
	c.about = fmt.Sprintf("%v levels, %d blocks of %d", levels, blocks, length)
	if len(levels) > 1 && besides.IntN(2) == 0 {
		c.combined()
	}
	lost := []float64{0, 0, 0.1, 0.4}[rng.IntN(4)]
	for s := range c.treatment {
		if c.good[s] = rng.Float64() >= lost; !c.good[s] {
			c.balanced = false
		}
	}
	c.drift(rng)
	c.covariates(rng)
	c.carryOver(besides)
	c.randomFactors(rng)
	c.respond(rng)
	c.ask(rng)
	return c
}

// arrange puts the treatments in order, each block by itself.
func (c *campaign) arrange(rng *rand.Rand, blocks, length, treatments int) {
	c.model.Blocks, c.model.Length = blocks, length
	block := linmod.Factor{Name: "pack"}
	for b := range blocks {
		block.Levels = append(block.Levels, strconv.Itoa(b))
		var runs []int
		for len(runs) < length {
			runs = append(runs, rng.Perm(treatments)...)
		}
		runs = runs[:length]
		rng.Shuffle(length, func(i, j int) { runs[i], runs[j] = runs[j], runs[i] })
		c.treatment = append(c.treatment, runs...)
		for range length {
			block.Code = append(block.Code, int32(b))
		}
	}
	c.data.Blocks = []linmod.Factor{block}
	if rng.IntN(2) == 0 {
		c.data.Sample = []string{"pack"}
	}
	c.good = make([]bool, len(c.treatment))
}

// compared makes a family of each factor.
func (c *campaign) compared(levels []int) {
	step := 1
	for k, n := range levels {
		f := linmod.Factor{Name: string(rune('A' + k)), Code: make([]int32, len(c.treatment))}
		own := judge.Factor{Levels: n, Baseline: 0, Trends: n > 2}
		for i := range n {
			f.Levels = append(f.Levels, strconv.Itoa(i))
		}
		for t := range slices.Max(c.treatment) + 1 {
			own.Code = append(own.Code, t/step%n)
		}
		for s, t := range c.treatment {
			f.Code[s] = int32(own.Code[t])
		}
		step *= n
		c.factors = append(c.factors, f)
		c.families = append(c.families, family{f.Name, f.Levels})
		c.model.Factors = append(c.model.Factors, own)
		c.request.Baseline = append(c.request.Baseline, f.Levels[0])
	}
	c.data.Treatments = c.factors
}

// combined makes a family of the combinations, beside which the factors are averages.
func (c *campaign) combined() {
	c.request.Interactions = true
	whole := judge.Factor{Baseline: 0}
	f := family{name: "A × B"}
	for t := range c.model.Factors[0].Code {
		whole.Code = append(whole.Code, t)
		f.levels = append(f.levels, fmt.Sprint(c.model.Factors[0].Code[t], " ", c.model.Factors[1].Code[t]))
	}
	whole.Levels = len(whole.Code)
	c.about += ", combinations and averages"
	for k := range c.model.Factors {
		c.model.Factors[k].Average = true
	}
	c.model.Factors = append([]judge.Factor{whole}, c.model.Factors...)
	c.families = append([]family{f}, c.families...)
}

func (c *campaign) drift(rng *rand.Rand) {
	kind, own := rng.IntN(4), rng.IntN(3) == 0
	c.balanced = c.balanced && kind == 0
	if kind == 3 {
		c.model.Positions = true
		f := linmod.Factor{Name: "position"}
		for i := range c.model.Length {
			f.Levels = append(f.Levels, strconv.Itoa(i))
		}
		for s := range c.treatment {
			f.Code = append(f.Code, int32(s%c.model.Length))
		}
		c.data.Blocks = append(c.data.Blocks, f)
		c.about += ", positions"
		return
	}
	for power := range kind {
		d := judge.Drift{Own: own}
		for s := range c.treatment {
			d.Value = append(d.Value, math.Pow(float64(s%c.model.Length+1)/float64(c.model.Length), float64(power+1)))
		}
		c.model.Drift = append(c.model.Drift, d)
		v := linmod.Covariate{Name: fmt.Sprint("drift", power), Value: d.Value}
		if own {
			v.By = &c.data.Blocks[0]
		}
		c.data.Covariates = append(c.data.Covariates, v)
	}
	c.about += fmt.Sprintf(", drift of degree %d (own: %v)", kind, own)
}

func (c *campaign) covariates(rng *rand.Rand) {
	for k := range max(0, rng.IntN(4)-1) {
		value := make([]float64, len(c.treatment))
		for s := range value {
			value[s] = math.Round(100*rng.NormFloat64()) / 10
		}
		c.balanced = false
		c.model.Noted = append(c.model.Noted, value)
		c.data.Noted = append(c.data.Noted, linmod.Covariate{Name: fmt.Sprint("noted", k), Value: value})
		c.about += ", a covariate"
	}
}

// carryOver puts residual effects into the model.
func (c *campaign) carryOver(rng *rand.Rand) {
	if rng.IntN(4) > 0 {
		return
	}
	c.balanced = false
	c.model.CarryOver, c.request.CarryOver = c.model.Factors, true
	if c.request.Interactions {
		c.model.CarryOver = c.model.Factors[:1]
	}
	c.about += ", carry-over"
}

// randomFactors makes the blocks random, or puts them on two or three specimens.
func (c *campaign) randomFactors(rng *rand.Rand) {
	switch rng.IntN(4) {
	case 0:
		if c.model.Positions {
			return
		}
		c.data.Recovered, c.data.Blocks = c.data.Blocks[:1], nil
		c.about += ", random blocks"
	case 1:
		specimens := linmod.Factor{Name: "motor", Levels: []string{"0", "1", "2"}[:2+rng.IntN(2)]}
		for s := range c.treatment {
			specimens.Code = append(specimens.Code, int32(s/c.model.Length%len(specimens.Levels)))
		}
		for _, f := range c.factors {
			c.data.Interplay = append(c.data.Interplay, mixed.Nested(f, specimens))
		}
		c.about += ", specimens"
	default:
		return
	}
	c.random, c.balanced = true, false
}

// respond makes the values: effects, blocks and noise, about a mean of a hundred.
func (c *campaign) respond(rng *rand.Rand) {
	effect := 3 * rng.Float64()
	block, specimen := 2*rng.Float64(), map[[2]int]float64{}
	c.question.Terms = compare.TermsOf(rng.IntN(2) == 0, rng.IntN(2) == 0)
	c.question.Lower = rng.IntN(2) == 0
	m := verdict.Measured{Name: "y", Scale: verdict.Raw, Values: &decimal.Column{}}
	margin := 0.5 + 3*rng.Float64()
	switch c.question.Terms {
	case compare.InUnits:
		m.Margin = &verdict.Margin{Value: margin}
	default:
		m.Margin = &verdict.Margin{Value: margin / 100, Relative: true}
	}
	if c.question.Terms == compare.InLogs {
		m.Scale = verdict.Log
	} else {
		c.question.Centre = 100
	}
	c.question.Margin = c.question.Terms.Margin(m.Margin.Value)
	if rng.IntN(6) == 0 {
		m.Margin, c.question.Margin = nil, math.NaN()
		if c.question.Terms == compare.InPercent {
			c.question.Terms = compare.InUnits
		}
	}
	level := 0.0
	for s, t := range c.treatment {
		if s%c.model.Length == 0 {
			level = block * rng.NormFloat64()
		}
		at := [2]int{t, s / c.model.Length % 2}
		if _, known := specimen[at]; !known {
			specimen[at] = rng.NormFloat64()
		}
		v := 100 + effect*float64(t) + level + specimen[at] + rng.NormFloat64()
		c.data.Status = append(c.data.Status, verdict.Failed)
		if !c.good[s] {
			c.y = append(c.y, math.NaN())
			m.Values.AppendMissing()
			continue
		}
		c.data.Status[s] = verdict.OK
		if err := m.Values.Append(strconv.AppendFloat(nil, v, 'g', -1, 64)); err != nil {
			panic(err)
		}
		if m.Scale == verdict.Log {
			c.y = append(c.y, math.Log(v))
		} else {
			c.y = append(c.y, v-c.question.Centre)
		}
	}
	c.data.Responses = []verdict.Measured{m}
	c.about += fmt.Sprintf(", %s scale, terms %v", m.Scale, c.question.Terms)
}

// ask chooses the family and the look.
func (c *campaign) ask(rng *rand.Rand) {
	kind := []compare.Kind{compare.KindPairs, compare.KindPairs, compare.KindBaseline, compare.KindBest}[rng.IntN(4)]
	c.request.Compare, c.request.Alpha = kind, []float64{0.05, 0.2}[rng.IntN(2)]
	if kind != compare.KindBaseline {
		c.request.Baseline = nil
	}
	if kind == compare.KindBest {
		if c.data.Responses[0].Better = "higher"; c.question.Lower {
			c.data.Responses[0].Better = "lower"
		}
	}
	var look *power.Interim
	if rng.IntN(3) == 0 {
		c.request.Looks = &verdict.Stage{Of: 3, Spending: []power.Spending{power.OBrienFleming, power.Pocock}[rng.IntN(2)],
			Fractions: []float64{0.4, 0.7, 1}[:1+rng.IntN(3)], DF: float64(5 + rng.IntN(40))}
		look = c.request.Looks.Interim()
	}
	c.criticals = judge.NewCriticals(kind, c.request.Alpha, look)
	if even := !c.random && (kind != compare.KindBaseline || c.balanced); len(c.about)%3 > 0 && c.all() && even {
		c.about += ", one table"
		c.request.Family = verdict.WholeTable
		c.criticals = c.criticals.OneTable(&c.model, 1)
	}
	c.about += fmt.Sprintf(", %s, look %+v", kind, c.request.Looks)
}

// all reports whether every level has a good run.
func (c *campaign) all() bool {
	for _, f := range c.factors {
		seen := map[int32]bool{}
		for s, level := range f.Code {
			if c.good[s] {
				seen[level] = true
			}
		}
		if len(seen) < len(f.Levels) {
			return false
		}
	}
	return true
}

// tolerance is the part of the half width by which an end may miss that of the verdict.
func (c *campaign) tolerance() float64 {
	switch uneven := c.request.Compare != verdict.Pairs && !c.balanced; {
	case uneven && c.random:
		return 0.35 // equal correlations stand for any others, and few degrees of freedom make most of that
	case uneven:
		return 0.1
	case c.random:
		return 2e-4 // critical values are interpolated over degrees of freedom
	}
	return 1e-9
}

// fits are those by which a campaign can be judged.
func (c *campaign) fits() map[string]judge.Fitted {
	terms := c.factors
	var average []judge.Factor
	if c.request.Interactions {
		whole := linmod.Factor{Name: c.families[0].name, Levels: c.families[0].levels}
		for _, t := range c.treatment {
			whole.Code = append(whole.Code, int32(t))
		}
		terms, average = []linmod.Factor{whole}, c.model.Factors[1:]
	}
	covariates := slices.Concat(c.data.Covariates, c.data.Noted)
	if c.request.CarryOver {
		var before []linmod.Factor
		for _, f := range terms {
			before = append(before, linmod.Before(f, &slices.Concat(c.data.Recovered, c.data.Blocks)[0], nil))
		}
		covariates = append(covariates, linmod.NewCarryOver(before, func(row int) bool { return c.good[row] }).Covariates...)
	}
	fixed := linmod.Model{Blocks: c.data.Blocks, Covariates: covariates, Factors: terms, Order: 1}
	general := judge.NewGeneral(fixed, average, c.data.Sample, slices.Concat(c.data.Recovered, c.data.Random), c.data.Interplay, c.good)
	general.Points = law.PivotPoints // as the verdict
	fits := map[string]judge.Fitted{
		"general": general,
	}
	cells := judge.NewCellMeans(&c.model, slices.Max(c.treatment)+1)
	switch f := judge.NewLeastSquares(&c.model); {
	case c.random:
	case len(c.data.Sample) > 0 && cells.Repeats(c.treatment, c.good):
		if cells.Order(c.treatment, c.good) {
			fits["cell means"] = cells
		}
	case f.Order(c.treatment, c.good):
		fits["least squares"] = f
	}
	return fits
}

// Words and intervals are those of the verdict, for whatever campaign.
func TestJudgeIsTheVerdict(t *testing.T) {
	const parts = 4
	campaigns := 600
	if testing.Short() {
		campaigns = 240
	}
	for part := range parts {
		t.Run(strconv.Itoa(part), func(t *testing.T) {
			t.Parallel()
			rng, besides := rand.New(rand.NewPCG(uint64(part), 1)), rand.New(rand.NewPCG(uint64(part), 2))
			seen := map[string]int{}
			for range campaigns / parts {
				c := newCampaign(rng, besides)
				v, err := verdict.Analyse(t.Context(), c.data, c.request)
				if err != nil {
					t.Fatalf("%s: %v", c.about, err)
				}
				if c.request.Interactions && !slices.Contains(v.Responses[0].Model.Treatments, "A × B") {
					continue // the verdict leaves out what it cannot distinguish, see the package comment
				}
				for name, f := range c.fits() {
					n := c.agree(t, name, f, v.Responses[0].Comparisons)
					seen[name] += n
					if n > 0 {
						seen[string(c.request.Compare)]++
						seen[fmt.Sprint("random ", c.random)]++
						seen[fmt.Sprint("carry-over ", c.request.CarryOver)]++
						seen[fmt.Sprint("averages ", c.request.Interactions)]++
						seen[fmt.Sprint("looks ", c.request.Looks != nil)]++
						seen[fmt.Sprint("table ", c.request.Family != "" && len(c.factors) > 1)]++
						seen[fmt.Sprint("terms ", c.question.Terms)]++
					}
				}
			}
			for _, what := range []string{"general", "least squares", "cell means", "pairs", "baseline", "best", "random true", "carry-over true", "averages true", "looks true", "table true", "terms 0", "terms 1", "terms 2"} {
				if seen[what] < 5 {
					t.Errorf("%s: compared %d times", what, seen[what])
				}
			}
			t.Logf("compared: %v", seen)
		})
	}
}

// agree compares a fit with the verdict's comparisons and returns how many had an interval.
func (c *campaign) agree(t *testing.T, name string, by judge.Fitted, comparisons []verdict.Comparison) (bounded int) {
	t.Helper()
	estimates := judge.NewEstimates(&c.model)
	by.Solve(c.y, estimates)
	var r judge.Reading
	r.By(c.criticals)
	for k, f := range c.families {
		r.Turn(&c.question, &c.model.Factors[k], by.Precision(k), &estimates[k])
		differs, open, sure := false, false, true
		for _, v := range comparisons {
			if v.Factors.Term() != f.name {
				continue
			}
			differs, open = differs || v.Verdict.Differs(), open || v.Verdict == compare.Unresolved
			got := r.Comparison(slices.Index(f.levels, v.Level), max(0, slices.Index(f.levels, v.Against)))
			low, high := float64(v.Low), float64(v.High)
			if c.question.Terms == compare.InPercent {
				low, high = float64(v.PercentLow), float64(v.PercentHigh)
			}
			off := c.tolerance() * (high - low) / 2
			if math.IsNaN(off) || math.IsInf(off, 0) {
				off = 0
			} else {
				bounded++
			}
			off += 1e-12
			if !same(got.Low, low, off) || !same(got.High, high, off) {
				t.Errorf("%s\n%s: %s − %s is %v to %v, the verdict has %v to %v", c.about, name, v.Level, v.Against, got.Low, got.High, low, high)
			}
			switch on := c.onBorder(low, high, off); {
			case on:
				sure = false
			case got.Word != v.Verdict:
				t.Errorf("%s\n%s: %s − %s (%v to %v) is called %s, the verdict says %s", c.about, name, v.Level, v.Against, low, high, got.Word, v.Verdict)
			}
		}
		if !sure || len(comparisons) == 0 {
			continue
		}
		if got := r.Differs(); got != differs {
			t.Errorf("%s\n%s: something differs: %v, the verdict's words say %v", c.about, name, got, differs)
		}
		if d, o := r.Standing(); d != differs || o != open {
			t.Errorf("%s\n%s: something differs: %v, is open: %v; the verdict's words say %v and %v", c.about, name, d, o, differs, open)
		}
	}
	return bounded
}

// onBorder reports whether an interval lies so close to zero or to the margin that the tolerance may change its word.
func (c *campaign) onBorder(low, high, off float64) bool {
	for _, end := range []float64{low, high} {
		for _, border := range []float64{0, c.question.Margin, -c.question.Margin} {
			if math.Abs(end-border) <= off && !(end == 0 && border == 0) {
				return true
			}
		}
	}
	return false
}

func same(got, want, off float64) bool {
	return got == want || math.IsNaN(got) && math.IsNaN(want) || math.Abs(got-want) <= off
}
