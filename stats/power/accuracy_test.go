package power

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/internal/accuracy"
)

// TestAccuracy measures the digits that docs/accuracy.md states. The values of
// testdata/r/power.json are from quadrature in high precision (power.py).
func TestAccuracy(t *testing.T) {
	page := accuracy.Section{Package: "stats/power"}
	text, err := os.ReadFile("../../testdata/r/power.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		TTest []struct {
			Type             string
			N                float64
			Delta, SD, Alpha float64
			DF               float64
			Power            float64 `json:"power_precise"`
		} `json:"t_test"`
		Comparisons []struct {
			Design          string
			Groups          int
			N, DF, Alpha    float64
			Effect          float64
			TukeyCritical   float64 `json:"tukey_critical"`
			TukeyPower      float64 `json:"tukey_power"`
			DunnettCritical float64 `json:"dunnett_critical"`
			DunnettPower    float64 `json:"dunnett_power"`
		}
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	const maker = "quadrature (power.py)"
	hold := func(quantity, where string, got, want, tolerance float64) {
		t.Helper()
		if e := page.Line(quantity, where, maker).Add(got, want); !(e <= tolerance) {
			t.Errorf("%s = %.16g, want %.16g", quantity, got, want)
		}
	}
	for _, c := range ref.TTest {
		se := math.Sqrt(2 / c.N)
		if c.Type != "two.sample" {
			se = math.Sqrt(1 / c.N)
		}
		got, err := Test{Family: compare.Single{}, Alpha: c.Alpha}.Power(c.Delta, c.SD, Precision{SE: se, DF: c.DF})
		if err != nil {
			t.Fatal(err)
		}
		hold("power of a t test", "two samples and pairs, 2 to 50 runs", got, c.Power, 1e-11)
	}
	for _, c := range ref.Comparisons {
		p := Precision{SE: math.Sqrt(2 / c.N), DF: c.DF}
		for _, f := range []struct {
			name            string
			family          compare.Family
			critical, power float64
		}{
			{"Tukey", compare.Pairs{Levels: c.Groups}, c.TukeyCritical, c.TukeyPower},
			{"Dunnett", compare.Baseline{Levels: c.Groups}, c.DunnettCritical, c.DunnettPower},
		} {
			comparison := Test{Family: f.family, Alpha: c.Alpha}
			critical, err := comparison.Critical(c.DF)
			if err != nil {
				t.Fatal(err)
			}
			power, err := comparison.Power(c.Effect, 1, p)
			if err != nil {
				t.Fatal(err)
			}
			hold("critical value, "+f.name, "one-way and in blocks", critical, f.critical, 1e-9)
			hold("power of a comparison, "+f.name, "one-way and in blocks", power, f.power, 1e-9)
		}
	}
	for _, r := range readReference(t).Assurance {
		target := Target{Margin: r.Margin * 0.5 * 3, Noise: Scatter{SD: 3, DF: r.NoiseDF}, Power: 0.9}
		got, err := r.comparison(t).Assurance(target, Precision{SE: 0.5, DF: r.DF})
		if err != nil {
			t.Fatal(err)
		}
		if e := page.Line("power averaged over uncertain noise", "all families", "mpmath (reference.py)").Add(got, r.Assurance); !(e <= 1e-9) {
			t.Errorf("%+v: Assurance = %v", r, got)
		}
	}
	page.Check(t)
}
