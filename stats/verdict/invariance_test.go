package verdict

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// A whole verdict takes milliseconds where a property of a function takes
// microseconds: fewer are drawn, unless the command line asks for more.
func init() {
	if err := flag.Set("rapid.checks", "15"); err != nil {
		panic(err)
	}
}

// sound is a campaign with runs enough to tell everything, whose readings are whole thousandths.
type sound struct {
	d        Data
	q        Request
	readings []int64
	better   string
}

// drawSound draws one or two factors, perhaps a block and a covariate, and
// enough runs to judge noise by.
func drawSound(t *rapid.T) sound {
	var c sound
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	factors := rapid.IntRange(1, 2).Draw(t, "factors")
	most := 5 - factors
	cells := 1
	for k := range factors {
		f := linmod.Factor{Name: string(rune('A' + k))}
		for l := range rapid.IntRange(2, most).Draw(t, "levels") {
			f.Levels = append(f.Levels, fmt.Sprintf("%c%d", 'a'+k, l))
		}
		cells *= len(f.Levels)
		c.d.Treatments = append(c.d.Treatments, f)
	}
	repeats := rapid.IntRange(2, 4).Draw(t, "repeats")
	blocks := rapid.IntRange(1, 3).Draw(t, "blocks")
	pack := linmod.Factor{Name: "pack", Levels: []string{"p1", "p2", "p3"}[:blocks]}
	start := linmod.Covariate{Name: "start"}
	for b := range blocks {
		for cell := range cells {
			for range repeats {
				if rng.IntN(12) == 0 {
					continue // a run that was never made
				}
				rest := cell
				effect := 0.0
				for k := range c.d.Treatments {
					f := &c.d.Treatments[k]
					code := rest % len(f.Levels)
					rest /= len(f.Levels)
					f.Code = append(f.Code, int32(code))
					effect += 1.5 * float64(code) * rng.Float64()
				}
				pack.Code = append(pack.Code, int32(b))
				start.Value = append(start.Value, math.Round(100*rng.NormFloat64())/100)
				v := 50 + float64(b) + effect + rng.NormFloat64()
				c.readings = append(c.readings, int64(math.Round(1000*v)))
			}
		}
	}
	if blocks > 1 {
		c.d.Blocks = []linmod.Factor{pack}
	}
	if rapid.Bool().Draw(t, "covariate") {
		c.d.Covariates = []linmod.Covariate{start}
	}
	c.better = rapid.SampledFrom([]string{"", "higher", "lower"}).Draw(t, "better")
	c.q.Interactions = factors == 2 && rapid.Bool().Draw(t, "interactions")
	c.q.Compare = rapid.SampledFrom([]Compare{Pairs, Pairs, Baseline, Best}).Draw(t, "compare")
	if c.q.Compare == Baseline {
		for _, f := range c.d.Treatments {
			c.q.Baseline = append(c.q.Baseline, f.Levels[0])
		}
		c.q.OneSided = c.better != "" && rapid.Bool().Draw(t, "one-sided")
	}
	if c.q.Compare == Best && c.better == "" {
		c.better = "higher"
	}
	c.d.Order = make([]float64, len(c.readings))
	for i := range c.d.Order {
		c.d.Order[i] = float64(i)
	}
	return c
}

// judge answers it with readings of factor·(reading + shift) thousandths.
func (c sound) judge(t rapid.TB, scale Scale, margin *Margin, shift, factor int64) Response {
	t.Helper()
	var y decimal.Column
	for _, v := range c.readings {
		if err := y.Append(fmt.Appendf(nil, "%de-3", (v+shift)*factor)); err != nil {
			t.Fatal(err)
		}
	}
	c.d.Responses = []Measured{{Name: "thrust", Better: c.better, Scale: scale, Margin: margin, Values: &y}}
	v, err := Analyse(context.Background(), c.d, c.q)
	if err != nil {
		t.Fatal(err)
	}
	return v.Responses[0]
}

// agreement compares two verdicts number by number.
type agreement struct {
	t     rapid.TB
	what  string
	scale float64 // of the second in units of the first; 1 where it is the same
	shift float64 // of the second's means, after scaling
	logs  bool    // differences are of logarithms and do not scale

	estimated bool // the law of the family is integrated by points that depend on the order of levels
}

const alike = 1e-8

func (a agreement) near(name string, x, y Number, unit float64) {
	a.t.Helper()
	switch {
	case float64(x) == float64(y), !x.Known() && !y.Known():
	case !(math.Abs(float64(x-y)) <= alike*math.Abs(float64(x))) && !(math.Abs(float64(x-y)) <= alike*unit):
		a.t.Fatalf("%s: %s = %v, before %v", a.what, name, y, x)
	}
}

// responses compares two verdicts, whatever the order of their
// lines and the sign of their differences.
func (a agreement) responses(x, y Response) {
	a.t.Helper()
	dy := Number(a.scale)
	if a.logs {
		dy = 1
	}
	if len(x.ANOVA) != len(y.ANOVA) || len(x.Means) != len(y.Means) || len(x.Comparisons) != len(y.Comparisons) {
		a.t.Fatalf("%s: %d, %d, %d lines, before %d, %d, %d", a.what, len(y.ANOVA), len(y.Means), len(y.Comparisons), len(x.ANOVA), len(x.Means), len(x.Comparisons))
	}
	for i, r := range x.ANOVA {
		s := y.ANOVA[i]
		total := float64(x.ANOVA[len(x.ANOVA)-1].SS)
		a.near(r.Term+" ss", r.SS, s.SS/dy/dy, total)
		a.near(r.Term+" F", r.F, s.F, 1)
		a.near(r.Term+" p", r.P, s.P, 1e-6)
	}
	a.near("noise", x.Noise.SD, y.Noise.SD/dy, 0)
	for _, m := range x.Means {
		k := slices.IndexFunc(y.Means, func(n Mean) bool { return slices.Equal(n.Factors, m.Factors) && n.Level == m.Level })
		if k < 0 {
			a.t.Fatalf("%s: no mean of %s", a.what, m.Level)
		}
		n := y.Means[k]
		sd := float64(x.Noise.SD)
		a.near("mean "+m.Level, m.Estimate, (n.Estimate-Number(a.shift))/Number(a.scale), sd)
		a.near("low of mean "+m.Level, m.Low, (n.Low-Number(a.shift))/Number(a.scale), sd)
		a.near("high of mean "+m.Level, m.High, (n.High-Number(a.shift))/Number(a.scale), sd)
	}
	for _, c := range x.Comparisons {
		d, sign := opposite(y.Comparisons, c)
		if sign == 0 {
			a.t.Fatalf("%s: no comparison of %s with %s", a.what, c.Level, c.Against)
		}
		what := c.Level + " against " + c.Against
		low, high := d.Low, d.High
		if sign < 0 {
			low, high = -d.High, -d.Low
		}
		a.near(what, c.Estimate, sign*d.Estimate/dy, float64(c.SE))
		a.near(what+" se", c.SE, d.SE/dy, 0)
		a.near(what+" t", c.T, sign*d.T, 1)
		a.near(what+" p", c.P, d.P, 1e-6)
		rough := 1.0
		if a.estimated { // to the bounds of law.MultivariateT
			rough = 1e-3 / alike
		}
		a.near(what+" adjusted p", c.PAdjusted, d.PAdjusted, rough*max(1e-6, float64(c.PAdjusted)))
		a.near(what+" low", c.Low, low/dy, rough*float64(c.SE))
		a.near(what+" high", c.High, high/dy, rough*float64(c.SE))
		if c.Verdict != d.Verdict && !onEdge(c, x) {
			a.t.Fatalf("%s: %s is %q, before %q", a.what, what, d.Verdict, c.Verdict)
		}
	}
	if len(x.Checks) != len(y.Checks) {
		a.t.Fatalf("%s: %d checks, before %d", a.what, len(y.Checks), len(x.Checks))
	}
	for i, c := range x.Checks {
		d := y.Checks[i]
		if c.Name != d.Name || c.Flag != d.Flag {
			a.t.Fatalf("%s: check %+v, before %+v", a.what, d, c)
		}
		a.near("check "+c.Name, c.P, d.P, 1000) // to 1e-5
	}
}

// opposite finds the same comparison, or the same the other way round.
func opposite(list []Comparison, c Comparison) (Comparison, Number) {
	for _, d := range list {
		switch {
		case slices.Equal(d.Factors, c.Factors) && d.Level == c.Level && d.Against == c.Against:
			return d, 1
		case slices.Equal(d.Factors, c.Factors) && d.Level == c.Against && d.Against == c.Level:
			return d, -1
		}
	}
	return Comparison{}, 0
}

// onEdge says whether an end of the interval is so near to zero or the margin that
// the estimate of a quantile may decide the word.
func onEdge(c Comparison, r Response) bool {
	low, high, margin := terms{margin: r.Margin, scale: r.Scale}.onMarginScale(c)
	for _, end := range []float64{low, high} {
		for _, line := range []float64{0, margin, -margin} {
			if math.Abs(end-line) < 1e-3*(high-low) {
				return true
			}
		}
	}
	return false
}

func TestShiftAndScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawSound(t)
		shift := rapid.Int64Range(-1e12, 1e12).Draw(t, "shift")
		factor := rapid.SampledFrom([]int64{1000, 7, 3}).Draw(t, "factor")
		before := c.judge(t, Raw, &Margin{Value: 0.5}, 0, 1)
		agreement{t: t, what: "shifted", scale: 1, shift: float64(shift) / 1000}.responses(before, c.judge(t, Raw, &Margin{Value: 0.5}, shift, 1))
		agreement{t: t, what: "scaled", scale: float64(factor)}.responses(before, c.judge(t, Raw, &Margin{Value: 0.5 * float64(factor)}, 0, factor))
		percent := &Margin{Value: 0.02, Relative: true}
		agreement{t: t, what: "scaled, in per cent", scale: float64(factor)}.responses(c.judge(t, Raw, percent, 0, 1), c.judge(t, Raw, percent, 0, factor))
		agreement{t: t, what: "scaled, logarithms", scale: float64(factor), logs: true}.responses(c.judge(t, Log, percent, 0, 1), c.judge(t, Log, percent, 0, factor))
	})
}

func TestOrderOfRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawSound(t)
		before := c.judge(t, Raw, nil, 0, 1)
		order := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 2)).Perm(len(c.readings))
		shuffled := sound{q: c.q, better: c.better, d: Data{Order: pickRows(c.d.Order, order)}, readings: pickRows(c.readings, order)}
		for _, f := range c.d.Treatments {
			shuffled.d.Treatments = append(shuffled.d.Treatments, linmod.Factor{Name: f.Name, Levels: f.Levels, Code: pickRows(f.Code, order)})
		}
		for _, f := range c.d.Blocks {
			shuffled.d.Blocks = append(shuffled.d.Blocks, linmod.Factor{Name: f.Name, Levels: f.Levels, Code: pickRows(f.Code, order)})
		}
		for _, v := range c.d.Covariates {
			shuffled.d.Covariates = append(shuffled.d.Covariates, linmod.Covariate{Name: v.Name, Value: pickRows(v.Value, order)})
		}
		agreement{t: t, what: "rows in another order", scale: 1}.responses(before, shuffled.judge(t, Raw, nil, 0, 1))
	})
}

// TestOrderOfLevels lists the levels of every factor in another order.
func TestOrderOfLevels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawSound(t)
		before := c.judge(t, Raw, nil, 0, 1)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 3))
		relist := func(factors []linmod.Factor) (out []linmod.Factor) {
			for _, f := range factors {
				order := rng.Perm(len(f.Levels))
				g := linmod.Factor{Name: f.Name, Levels: pickRows(f.Levels, order)}
				for _, code := range f.Code {
					g.Code = append(g.Code, int32(slices.Index(order, int(code))))
				}
				out = append(out, g)
			}
			return out
		}
		c.d.Treatments, c.d.Blocks = relist(c.d.Treatments), relist(c.d.Blocks)
		agreement{t: t, what: "levels in another order", scale: 1, estimated: c.q.Compare != Pairs}.responses(before, c.judge(t, Raw, nil, 0, 1))
	})
}

func pickRows[T any](column []T, order []int) []T {
	out := make([]T, len(order))
	for i, k := range order {
		out[i] = column[k]
	}
	return out
}
