package verdict

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/decimal"
	"fairrun/stats/law"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
)

// levelled is one factor of so many levels, each run so often, higher being better.
func levelled(tb testing.TB, levels, runs int, step float64) Data {
	tb.Helper()
	f := linmod.Factor{Name: "prop"}
	rng := rand.New(rand.NewPCG(5, 6))
	values := &decimal.Column{}
	for l := range levels {
		f.Levels = append(f.Levels, string(rune('A'+l)))
		for range runs {
			f.Code = append(f.Code, int32(l))
			if err := values.Append(fmt.Appendf(nil, "%.3f", 100+step*float64(l)+rng.NormFloat64())); err != nil {
				tb.Fatal(err)
			}
		}
	}
	return Data{Treatments: []linmod.Factor{f}, Responses: []Measured{{Name: "thrust", Better: "higher", Margin: &Margin{Value: 2}, Scale: Raw, Values: values}}}
}

func judgedAt(tb testing.TB, d Data, q Request) Response {
	tb.Helper()
	v, err := Analyse(context.Background(), d, q)
	if err != nil {
		tb.Fatal(err)
	}
	return v.Responses[0]
}

// Two looks, at half the information and at its end, by O'Brien–Fleming-like
// spending of 0.05: normal critical values 2.963 and 1.969; Pocock-like: 2.157 and
// 2.201 (Lan & DeMets 1983 with alpha/2 on each side; as commonly printed, from
// memory). Two levels are one comparison, so its level is that of its normal value,
// and with 198 degrees of freedom it is judged by the t law at that level.
func TestLooksSpendAlpha(t *testing.T) {
	d := levelled(t, 2, 100, 0.3)
	tests := []struct {
		spending  power.Spending
		fractions []float64
		z         float64
	}{
		{power.OBrienFleming, []float64{0.5}, 2.963},
		{power.OBrienFleming, []float64{0.5, 1}, 1.969},
		{power.Pocock, []float64{0.5}, 2.157},
		{power.Pocock, []float64{0.5, 1}, 2.201},
	}
	for _, tt := range tests {
		r := judgedAt(t, d, Request{Looks: &Stage{Spending: tt.spending, Of: 2, Fractions: tt.fractions, DF: 198}})
		level := 2 * law.T{DF: math.Inf(1)}.Survival(tt.z)
		if got := float64(r.Looks.Level); math.Abs(got/level-1) > 0.01 {
			t.Errorf("spending %v, looks at %v: level %v, want %v", tt.spending, tt.fractions, got, level)
		}
		c := r.Comparisons[0]
		half := float64(c.High-c.Low) / 2 / float64(c.SE)
		if want := (law.T{DF: 198}).UpperQuantile(float64(r.Looks.Level) / 2); math.Abs(half/want-1) > 1e-9 {
			t.Errorf("spending %v, looks at %v: half an interval is %v standard errors, want %v", tt.spending, tt.fractions, half, want)
		}
		if r.Looks.Done != Number(len(tt.fractions)) || r.Looks.Of != 2 || float64(r.Looks.Fraction) != tt.fractions[len(tt.fractions)-1] {
			t.Errorf("look %+v", *r.Looks)
		}
	}
}

// A single look at all the information is no look to speak of, whatever the family.
func TestOneLookIsTheVerdict(t *testing.T) {
	d := levelled(t, 4, 6, 0.8)
	for _, q := range []Request{{Compare: Pairs}, {Compare: Baseline, Baseline: []string{"A"}}, {Compare: Best}} {
		want := judgedAt(t, d, q)
		q.Looks = &Stage{Of: 1, Fractions: []float64{1}, DF: 20}
		got := judgedAt(t, d, q)
		if l := float64(got.Looks.Level); math.Abs(l-0.05) > 1e-9 {
			t.Errorf("%s: level %v, want 0.05", q.Compare, l)
		}
		for k, w := range want.Comparisons {
			c := got.Comparisons[k]
			if !close10(c.Low, w.Low) || !close10(c.High, w.High) || c.Verdict != w.Verdict || !close10(c.GLow, w.GLow) {
				t.Errorf("%s: %s against %s: %v to %v (g from %v), %s; want %v to %v (g from %v), %s", q.Compare, c.Level, c.Against, c.Low, c.High, c.GLow, c.Verdict, w.Low, w.High, w.GLow, w.Verdict)
			}
		}
		if len(got.Best) != len(want.Best) {
			t.Errorf("%s: best %v, want %v", q.Compare, got.Best, want.Best)
		}
	}
}

func close10(a, b Number) bool {
	return math.Abs(float64(a-b)) <= 1e-9*(1+math.Abs(float64(b)))
}

// A comparison is clear of zero exactly when its adjusted p is under the level of the
// look, and looks before the last are harder to pass.
func TestLevelOfALookIsThatOfAdjustedP(t *testing.T) {
	d := levelled(t, 4, 8, 0.9)
	for _, fractions := range [][]float64{{0.25}, {0.25, 0.5}, {0.25, 0.5, 1}} {
		r := judgedAt(t, d, Request{Looks: &Stage{Of: 3, Fractions: fractions, DF: 28}})
		if !(r.Looks.Level < 0.05) {
			t.Errorf("looks at %v: level %v, want less than 0.05", fractions, r.Looks.Level)
		}
		for _, c := range r.Comparisons {
			if clearOfZero(c) != (c.PAdjusted < r.Looks.Level) {
				t.Errorf("looks at %v: %s against %s: %v to %v, adjusted p %v, level %v", fractions, c.Level, c.Against, c.Low, c.High, c.PAdjusted, r.Looks.Level)
			}
		}
	}
}

// Before the first look there are estimates and no conclusions.
func TestBeforeTheFirstLook(t *testing.T) {
	d := levelled(t, 3, 5, 50)
	for _, how := range []Compare{Pairs, Baseline, Best} {
		r := judgedAt(t, d, Request{Compare: how, Baseline: []string{"A"}, Looks: &Stage{Of: 2, DF: 20}})
		if r.Looks.Done != 0 || r.Looks.Level != 0 {
			t.Errorf("%s: look %+v", how, *r.Looks)
		}
		for _, c := range r.Comparisons {
			if c.Verdict != compare.Unresolved || !c.Estimate.Known() || c.Low.Known() || c.High.Known() || c.PercentLow.Known() || c.GHigh.Known() {
				t.Errorf("%s: %+v; want an estimate and nothing concluded", how, c)
			}
		}
		if r.SmallestGood != nil || len(r.Best) != 3 {
			t.Errorf("%s: best %v, smallest as good %v; want all levels, none", how, r.Best, r.SmallestGood)
		}
	}
}
