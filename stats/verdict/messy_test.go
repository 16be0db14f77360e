package verdict

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairrun/stats/compare"
	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
)

// messy draws data as a bench leaves them: rows without a level, empty cells, blocks that
// hold one treatment, runs that failed, one value over and over, huge and tiny numbers.
func messy(t *rapid.T) (Data, Request) {
	n := rapid.IntRange(0, 14).Draw(t, "rows")
	column := func(name string) linmod.Factor {
		f := linmod.Factor{Name: name}
		for l := range rapid.IntRange(1, 4).Draw(t, name+" levels") {
			f.Levels = append(f.Levels, rapid.SampledFrom([]string{"", "é", "8 A", "x"}).Draw(t, "name")+fmt.Sprint(l))
		}
		codes := rapid.SliceOfN(rapid.Int32Range(-1, int32(len(f.Levels)-1)), n, n)
		if rapid.Bool().Draw(t, name+" complete") {
			codes = rapid.SliceOfN(rapid.Int32Range(0, int32(len(f.Levels)-1)), n, n)
		}
		f.Code = codes.Draw(t, name)
		return f
	}
	var d Data
	for k := range rapid.IntRange(1, 3).Draw(t, "factors") {
		d.Treatments = append(d.Treatments, column(string(rune('A'+k))))
	}
	for k := range rapid.IntRange(0, 2).Draw(t, "blocks") {
		d.Blocks = append(d.Blocks, column(string(rune('p'+k))))
	}
	if rapid.IntRange(0, 3).Draw(t, "random") == 0 {
		d.Random = append(d.Random, column("u"))
	}
	for k := range rapid.IntRange(0, 2).Draw(t, "covariates") {
		c := linmod.Covariate{Name: string(rune('x' + k)), Value: rapid.SliceOfN(rapid.SampledFrom([]float64{0, 1, 2, 3.5, -1, 1e9, math.NaN()}), n, n).Draw(t, "covariate")}
		if len(d.Blocks) > 0 && rapid.Bool().Draw(t, "by block") {
			c.By = &d.Blocks[0]
		}
		d.Covariates = append(d.Covariates, c)
	}
	if rapid.Bool().Draw(t, "statuses") {
		d.Status = rapid.SliceOfN(rapid.SampledFrom([]Status{OK, OK, OK, OK, Failed, Void, Todo}), n, n).Draw(t, "status")
	}
	if rapid.Bool().Draw(t, "ordered") {
		d.Order = rapid.SliceOfN(rapid.Float64Range(0, 9), n, n).Draw(t, "order")
	}
	texts := rapid.SampledFrom([]*rapid.Generator[string]{
		rapid.StringMatching(`-?[0-9]{1,3}(\.[0-9]{1,2})?`),
		rapid.StringMatching(`[1-9]\.[0-9]e[+-]?[0-9]{1,2}`),
		rapid.SampledFrom([]string{"5", "5", "5.0", "5.1", ""}),
		rapid.SampledFrom([]string{"1e300", "-1e300", "0", "1e-300", "4e-320", "1000000000000.4"}),
		rapid.Just("7"),
	}).Draw(t, "kind of values")
	var values decimal.Column
	for range n {
		text := texts.Draw(t, "value")
		if text == "" {
			values.AppendMissing()
		} else if err := values.Append([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	m := Measured{Name: "thrust", Values: &values, Scale: rapid.SampledFrom([]Scale{Raw, Raw, Log}).Draw(t, "scale"),
		Better: rapid.SampledFrom([]string{"", "higher", "lower"}).Draw(t, "better")}
	if rapid.Bool().Draw(t, "margin") {
		m.Margin = &Margin{Value: rapid.SampledFrom([]float64{1e-9, 0.02, 1, 1e9, math.Inf(1), math.NaN(), 0}).Draw(t, "margin"), Relative: m.Scale == Log || rapid.Bool().Draw(t, "relative")}
	}
	d.Responses = []Measured{m}
	q := Request{
		Interactions: rapid.Bool().Draw(t, "interactions"),
		Compare:      rapid.SampledFrom([]Compare{Pairs, Pairs, Baseline, Best}).Draw(t, "compare"),
	}
	if rapid.Bool().Draw(t, "by blocks") {
		q.Growth = func(_ string, levels int, now power.Precision) (power.Growth, float64) {
			return power.Design{Treatments: 2, Blocks: 1, Replicates: 2, Compared: levels}.MoreBlocks(now), 2
		}
	}
	for _, f := range d.Treatments {
		q.Baseline = append(q.Baseline, f.Levels[0])
	}
	q.OneSided = q.Compare == Baseline && m.Better != "" && rapid.Bool().Draw(t, "one-sided")
	return d, q
}

// honest fails unless the answer is JSON without a number that is none, every number is
// possible, and every unknown one is explained in words.
func honest(t *rapid.T) {
	d, q := messy(t)
	v, err := Analyse(context.Background(), d, q)
	if refused := (*RequestError)(nil); errors.As(err, &refused) {
		if refused.Text == "" {
			t.Fatal("refused without a word")
		}
		return
	}
	if err != nil {
		t.Fatalf("an error that is no refusal: %v", err)
	}
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatalf("no JSON: %v", err)
	}
	var back Verdict
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatalf("JSON does not read back: %v\n%s", err, text)
	}
	for _, word := range []string{"NaN", "Inf"} {
		if strings.Contains(string(text), word) {
			t.Fatalf("the JSON says %q: %s", word, text)
		}
	}
	r := v.Responses[0]
	said := func(why string, names ...string) {
		t.Helper()
		for _, c := range r.Checks {
			for _, name := range names {
				if c.Name == name && c.Message != "" {
					return
				}
			}
		}
		t.Fatalf("%s, and no check %q says why\n%s", why, names, text)
	}
	if r.Runs.OK+r.Runs.Failed+r.Runs.Void+r.Runs.Todo != r.rows(d) {
		t.Fatalf("%+v do not add up to %d rows", r.Runs, r.rows(d))
	}
	if !r.Noise.SD.Known() {
		said("the noise is unknown", "noise", "residual degrees of freedom", "comparison")
	}
	used := 0
	for _, m := range r.Means {
		if slices.Equal(m.Factors, r.Means[0].Factors) {
			used += m.N
		}
	}
	if len(r.Means) > 0 && used < r.Runs.OK {
		said(fmt.Sprintf("only %d of %d good runs are used", used, r.Runs.OK), "runs left out")
	}
	for _, m := range r.Means {
		if !m.Estimate.Known() {
			said("the mean of "+m.Level+" is unknown", "adjusted mean", "empty level")
		} else if !r.Noise.SD.Known() && m.Low.Known() {
			t.Fatalf("an interval without noise: %+v", m)
		}
		inside(t, "mean "+m.Level, m.Low, m.Estimate, m.High)
	}
	for _, c := range r.Comparisons {
		if !c.Estimate.Known() {
			said(c.Level+" against "+c.Against+" is unknown", "comparison")
		}
		possible(t, c, r)
	}
	for _, c := range r.Simple {
		possible(t, c.Comparison, r)
	}
	for _, row := range r.ANOVA {
		if row.SS < 0 || row.Eta2 > 1+1e-9 {
			t.Fatalf("%+v", row)
		}
		chance(t, "p of "+row.Term, row.P)
	}
	for _, c := range r.Checks {
		chance(t, "p of "+c.Name, c.P)
		if c.Message == "" {
			t.Fatalf("a check without words: %+v", c)
		}
	}
}

func (r Response) rows(d Data) int { return len(d.Treatments[0].Code) }

// possible fails unless the numbers of a comparison go together.
func possible(t *rapid.T, c Comparison, r Response) {
	t.Helper()
	what := c.Level + " against " + c.Against
	chance(t, what, c.P)
	chance(t, what, c.PAdjusted)
	inside(t, what, c.Low, c.Estimate, c.High)
	inside(t, what+" in per cent", c.PercentLow, c.Percent, c.PercentHigh)
	inside(t, what+" in noise", c.GLow, c.G, c.GHigh)
	if c.SE < 0 || c.SE.Known() && !r.Noise.SD.Known() {
		t.Fatalf("%s: standard error %v with noise %v", what, c.SE, r.Noise.SD)
	}
	if r.Margin == nil && c.Verdict != compare.Real && c.Verdict != compare.Unresolved {
		t.Fatalf("%s is %q without a margin", what, c.Verdict)
	}
	if c.More != nil && *c.More < 1 {
		t.Fatalf("%s needs %d more replicates", what, *c.More)
	}
}

func chance(t *rapid.T, what string, p Number) {
	t.Helper()
	if p.Known() && !(p >= 0 && p <= 1) {
		t.Fatalf("%s: p = %v", what, p)
	}
}

// inside fails if a known limit lies on the wrong side of the estimate.
func inside(t *rapid.T, what string, low, x, high Number) {
	t.Helper()
	slack := Number(1e-9 * math.Abs(float64(x)))
	if low > x+slack || high < x-slack || math.IsInf(float64(low), 1) || math.IsInf(float64(high), -1) {
		t.Fatalf("%s: %v in [%v, %v]", what, x, low, high)
	}
}

func TestMessy(t *testing.T) { rapid.Check(t, honest) }

func FuzzAnalyse(f *testing.F) {
	for seed := range uint64(20) { // enough to draw a whole data set from
		text := make([]byte, 4096)
		rand.NewChaCha8([32]byte{byte(seed)}).Read(text)
		f.Add(text)
	}
	f.Fuzz(rapid.MakeFuzz(honest))
}
