package mixed

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"fairrun/stats/linmod"
)

// TestIntervalsAgainstR compares with testdata/profile.json, made by profile.R
// there with dense matrices and R's optimisers, which are good to 1e-6.
func TestIntervalsAgainstR(t *testing.T) {
	const tol = 2e-6
	data, err := os.ReadFile("testdata/profile.json")
	if err != nil {
		t.Fatal(err)
	}
	type column struct {
		Name   string
		Levels []string
		Code   []int32
	}
	var cases []struct {
		Name            string
		Y               []float64
		Factors, Random []column
		Order           int
		Components      []struct {
			Name               string
			SD, SE             float64
			Limits95, Limits80 [2]float64
		}
	}
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		t.Run(c.Name, func(t *testing.T) {
			m := Model{Fixed: linmod.Model{Order: c.Order}}
			for _, f := range c.Factors {
				m.Fixed.Factors = append(m.Fixed.Factors, linmod.Factor(f))
			}
			for _, f := range c.Random {
				m.Random = append(m.Random, linmod.Factor(f))
			}
			r, err := Fit(m, c.Y)
			if err != nil {
				t.Fatal(err)
			}
			total := math.Sqrt(r.Sigma2)
			near := func(what string, got, want, floor float64) {
				if e := math.Abs(got-want) / max(math.Abs(want), floor); !(e <= tol) {
					t.Errorf("%s = %v, want %v (%.1e)", what, got, want, e)
				}
			}
			for _, level := range []float64{0.95, 0.8} {
				limits, err := r.Intervals(level)
				if err != nil {
					t.Fatal(err)
				}
				for i, want := range c.Components {
					near(want.Name+" sd", r.Components[i].SD, want.SD, 1e-3*total)
					near(want.Name+" se", r.Components[i].SE, want.SE, 0)
					l := want.Limits95
					if level == 0.8 {
						l = want.Limits80
					}
					if (l[0] == 0) != (limits[i].Low == 0) {
						t.Errorf("%s: lower limit %v, want %v", want.Name, limits[i].Low, l[0])
					}
					near(want.Name+" low", limits[i].Low, l[0], 1e-3*total)
					near(want.Name+" high", limits[i].High, l[1], 0)
				}
			}
		})
	}
}
