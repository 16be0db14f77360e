package power

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairrun/stats/compare"
)

func TestCriticalAndPowerAgainstReference(t *testing.T) {
	for _, r := range readReference(t).Power {
		c := r.comparison(t)
		p := Precision{SE: 0.5, DF: infinite(r.DF)}
		const sd = 3
		diff := r.Delta * sd * p.SE

		if got, err := c.Critical(p.DF); err != nil || !relative(got, r.Critical, 1e-11) {
			t.Errorf("%+v: Critical = %v, %v, want %v", r.famref, got, err, r.Critical)
		}
		if got, err := c.Power(diff, sd, p); err != nil || !near(got, r.Power, 1e-11) {
			t.Errorf("%+v df %v: Power(δ = %v) = %v, %v, want %v", r.famref, r.DF, r.Delta, got, err, r.Power)
		}
		if r.Delta == 0 {
			// With no difference the power is the level of one comparison.
			if got, err := c.Alone(p.DF); err != nil || !near(got, r.Power, 1e-11) {
				t.Errorf("%+v df %v: Alone = %v, %v, want %v", r.famref, r.DF, got, err, r.Power)
			}
			continue
		}
		if got, err := c.Equivalence(diff, 0, sd, p); err != nil || !near(got, r.Inside, 1e-11) {
			t.Errorf("%+v df %v: Equivalence(margin %v) = %v, %v, want %v", r.famref, r.DF, r.Delta, got, err, r.Inside)
		}
	}
}

func TestWordsAgainstReference(t *testing.T) {
	for _, r := range readReference(t).Words {
		c := r.comparison(t)
		p := Precision{SE: 0.25, DF: infinite(r.DF)}
		const sd = 0.1
		unit := sd * p.SE
		got, err := c.Words(r.Margin*unit, r.Truth*unit, sd, p)
		if err != nil {
			t.Fatal(err)
		}
		for i, g := range []float64{got.Matters, got.Real, got.Trivial, got.Equal, got.Unresolved} {
			if !near(g, r.Words[i], 1e-11) {
				t.Errorf("%+v df %v margin %v truth %v: word %d = %v, want %v", r.famref, r.DF, r.Margin, r.Truth, i, g, r.Words[i])
			}
		}
	}
}

// The quadrature alone, with the critical value given: 1e-12, whatever the
// accuracy of a family's critical values.
func TestWordsQuadrature(t *testing.T) {
	for _, r := range readReference(t).Words {
		if r.Family != "single" {
			continue
		}
		x := compare.Single{}.Critical(r.Alpha, infinite(r.DF))
		got := words(r.Margin, r.Truth, estimate{df: infinite(r.DF)}, x)
		for i, g := range []float64{got.Matters, got.Real, got.Trivial, got.Equal, got.Unresolved} {
			if !near(g, r.Words[i], 1e-12) {
				t.Errorf("%+v df %v: word %d = %v, want %v", r.famref, r.DF, i, g, r.Words[i])
			}
		}
	}
}

func TestWordsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Test{Family: compare.Single{}, Alpha: rapid.SampledFrom([]float64{0.001, 0.05, 0.3}).Draw(t, "alpha")}
		p := Precision{SE: 1, DF: rapid.Float64Range(1, 1e5).Draw(t, "df")}
		margin := rapid.Float64Range(0.01, 60).Draw(t, "margin")
		truth := rapid.Float64Range(-80, 80).Draw(t, "truth")
		w, err := c.Words(margin, truth, 1, p)
		if err != nil {
			t.Fatal(err)
		}
		if sum := w.Matters + w.Real + w.Trivial + w.Equal + w.Unresolved; !near(sum, 1, 1e-11) {
			t.Errorf("words add up to %v: %+v", sum, w)
		}
		power, err := c.Power(truth, 1, p)
		if err != nil {
			t.Fatal(err)
		}
		if found := w.Matters + w.Real + w.Trivial; !near(found, power, 1e-10) {
			t.Errorf("matters, real and trivial = %v, power %v", found, power)
		}
		inside, err := c.Equivalence(margin, truth, 1, p)
		if err != nil {
			t.Fatal(err)
		}
		if got := w.Trivial + w.Equal; !near(got, inside, 1e-11) {
			t.Errorf("trivial and equal = %v, equivalence %v", got, inside)
		}
	})
}

func TestPowerGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Test{Family: compare.Single{}, Alpha: 0.05}
		df := rapid.Float64Range(1, 200).Draw(t, "df")
		delta := rapid.Float64Range(0, 12).Draw(t, "delta")
		at := func(delta, se, df float64) float64 {
			got, err := c.Power(delta, 1, Precision{SE: se, DF: df})
			if err != nil {
				t.Fatal(err)
			}
			return got
		}
		base := at(delta, 1, df)
		const rounding = 1e-12
		if more := at(delta+0.5, 1, df); more < base-rounding {
			t.Errorf("a larger difference has power %v, less than %v", more, base)
		}
		if more := at(delta, 0.8, df); more < base-rounding {
			t.Errorf("more precision has power %v, less than %v", more, base)
		}
		if more := at(delta, 1, df+1); more < base-rounding {
			t.Errorf("more degrees of freedom have power %v, less than %v", more, base)
		}
		if mirrored := at(-delta, 1, df); !near(mirrored, base, 1e-12) {
			t.Errorf("power of −δ = %v, of δ %v", mirrored, base)
		}
	})
}

func TestDetectableInvertsPower(t *testing.T) {
	for _, f := range []compare.Family{compare.Single{}, compare.Pairs{Levels: 4}, compare.Baseline{Levels: 3}, compare.Best{Levels: 3}} {
		for _, df := range []float64{1, 4, 30, math.Inf(1)} {
			c := Test{Family: f, Alpha: 0.05}
			p := Precision{SE: 0.7, DF: df}
			diff, err := c.Detectable(0.9, 2, p)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := c.Power(diff, 2, p); err != nil || !near(got, 0.9, 1e-11) {
				t.Errorf("%T df %v: power of the detectable difference %v = %v, %v, want 0.9", f, df, diff, got, err)
			}
		}
	}
	c := Test{Family: compare.Single{}, Alpha: 0.3}
	if got, err := c.Detectable(0.2, 1, Precision{SE: 1, DF: 5}); err != nil || got != 0 {
		t.Errorf("power 0.2 at alpha 0.3 needs a difference of %v, %v, want 0", got, err)
	}
}

func TestDataThatCannotSupportTheQuestion(t *testing.T) {
	c := Test{Family: compare.Pairs{Levels: 3}, Alpha: 0.05}
	good := Precision{SE: 1, DF: 10}
	for _, tt := range []struct {
		name string
		sd   float64
		p    Precision
		want error
	}{
		{"no degrees of freedom", 1, Precision{SE: 1, DF: 0}, ErrNoDF},
		{"less than none", 1, Precision{SE: 1, DF: -3}, ErrNoDF},
		{"no noise", 0, good, ErrNoNoise},
		{"no estimate", 1, Precision{SE: math.Inf(1), DF: 10}, ErrNoEstimate},
	} {
		check := func(question string, x float64, err error) {
			if !errors.Is(err, tt.want) || x != 0 {
				t.Errorf("%s: %s = %v, %v, want 0, %v", tt.name, question, x, err, tt.want)
			}
		}
		x, err := c.Power(1, tt.sd, tt.p)
		check("Power", x, err)
		x, err = c.Equivalence(1, 0, tt.sd, tt.p)
		check("Equivalence", x, err)
		x, err = c.Detectable(0.9, tt.sd, tt.p)
		check("Detectable", x, err)
		if w, err := c.Words(1, 0, tt.sd, tt.p); !errors.Is(err, tt.want) || w != (Words{}) {
			t.Errorf("%s: Words = %+v, %v, want none, %v", tt.name, w, err, tt.want)
		}
		x, err = c.Assurance(Target{Margin: 1, Noise: Scatter{SD: tt.sd, DF: 4}, Power: 0.9}, tt.p)
		check("Assurance", x, err)
	}
	if _, err := c.Critical(math.NaN()); !errors.Is(err, ErrNoDF) {
		t.Errorf("Critical(NaN) = %v, want %v", err, ErrNoDF)
	}
	if _, err := c.Assurance(Target{Margin: 1, Noise: Scatter{SD: 1, DF: 0.5}, Power: 0.9}, good); !errors.Is(err, ErrNoDF) {
		t.Errorf("Assurance with half a degree of freedom = %v, want %v", err, ErrNoDF)
	}
}

func TestCallersMistakesPanic(t *testing.T) {
	c := Test{Family: compare.Single{}, Alpha: 0.05}
	p := Precision{SE: 1, DF: 10}
	target := Target{Margin: 1, Noise: Scatter{SD: 1}, Power: 0.9}
	for name, f := range map[string]func(){
		"alpha of 0":        func() { Test{Family: compare.Single{}}.Critical(10) },
		"no family":         func() { Test{Alpha: 0.05}.Critical(10) },
		"one level":         func() { Test{Family: compare.Pairs{Levels: 1}, Alpha: 0.05}.Critical(10) },
		"negative noise":    func() { c.Power(1, -1, p) },
		"difference of NaN": func() { c.Power(math.NaN(), 1, p) },
		"margin of 0":       func() { c.Equivalence(0, 0, 1, p) },
		"words of the best": func() { Test{Family: compare.Best{Levels: 3}, Alpha: 0.05}.Words(1, 0, 1, p) },
		"power of 1":        func() { c.Detectable(1, 1, p) },
		"unknown goal": func() {
			t := target
			t.Goal = 7
			c.Reach(t, p)
		},
		"no growth":             func() { c.Needed(target, Growth{}, 5) },
		"less than the least":   func() { c.Needed(target, Design{Treatments: 2, Blocks: 1, Replicates: 1}.ByBlocks(), 0) },
		"design without runs":   func() { Design{Treatments: 3, Blocks: 2}.Precision() },
		"efficiency above one":  func() { Design{Treatments: 3, Blocks: 2, Replicates: 1, Efficiency: 1.1}.Precision() },
		"no looks":              func() { Schedule{Alpha: 0.05}.Looks() },
		"looks back":            func() { Schedule{Alpha: 0.05, Fractions: []float64{0.5, 0.5}}.Looks() },
		"fraction of NaN":       func() { OBrienFleming.Spent(math.NaN(), 0.05) },
		"unknown spending":      func() { Spending(9).Spent(0.5, 0.05) },
		"inflation below alpha": func() { Schedule{Alpha: 0.05, Fractions: []float64{1}}.Inflation(0.04) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			f()
		})
	}
}

// Two whole plots of each setting can leave 0.06 degrees of freedom: an interval of 10²⁵ standard errors.
func TestHardlyAnyDegreesOfFreedom(t *testing.T) {
	c := Test{Family: compare.Pairs{Levels: 2}, Alpha: 0.05}
	p := Precision{SE: 1, DF: 0.0588}
	start := time.Now()
	a, err := c.Reach(Target{Margin: 2, Noise: Scatter{SD: 1, DF: 0.0588}, Power: 0.9}, p)
	if err != nil || !math.IsInf(a.Detectable, 1) || !(a.Power > 0.05 && a.Power < 0.1) {
		t.Errorf("%+v, %v; want no difference that is found, and little power", a, err)
	}
	if d, err := c.Detectable(0.9, 1, p); err != nil || !math.IsInf(d, 1) {
		t.Errorf("a detectable difference of %v, %v, want none", d, err)
	}
	if _, err := c.Equivalence(2, 0, 1, p); !errors.Is(err, ErrNoDF) {
		t.Errorf("equivalence: error %v, want %v", err, ErrNoDF)
	}
	if took := time.Since(start); took > 2*time.Second {
		t.Errorf("it took %v", took)
	}
}
