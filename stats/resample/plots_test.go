package resample

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"fairrun/stats/linmod"
)

// plotCase is one case of testdata/plots.json, made by testdata/plots.py, which
// refits every order by dense weighted least squares.
type plotCase struct {
	Name        string
	Block, Plot []int32
	Position    []float64
	Treatments  int
	Alpha       float64
	Orders      []string
	Drawn       []int32
	Y           []*float64
	Want        struct {
		F, P        float64
		Comparisons []struct {
			Estimate, SE, Between, P float64
			PAdjusted                float64 `json:"p_adjusted"`
			PComplete                float64 `json:"p_complete"`
			Low, High                *float64
		}
	}
}

// design returns the design and the response of a case.
func (c *plotCase) design() (*Design, []float64) {
	e := exactCase{Block: c.Block, Treatments: c.Treatments, Drawn: c.Drawn, Alpha: c.Alpha, Y: c.Y}
	d, y := e.design()
	d.Plots = c.Plot
	d.Families = []Family{Pairs(c.Treatments)}
	if c.Position != nil {
		d.Slots.Covariates = []linmod.Covariate{{Name: "position", Value: c.Position}}
	}
	return d, y
}

func plotCases(t *testing.T) []plotCase {
	data, err := os.ReadFile("testdata/plots.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []plotCase
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	return cases
}

func TestWholePlots(t *testing.T) {
	for _, c := range plotCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			d, y := c.design()
			test, err := d.Test(y)
			if err != nil {
				t.Fatal(err)
			}
			results, err := Enumerate((&exactCase{Drawn: c.Drawn, Orders: c.Orders}).all(), test)
			if err != nil {
				t.Fatal(err)
			}
			hold := func(quantity string, k int, got, want, tolerance float64) {
				t.Helper()
				if !near(got, want, tolerance) && got != want {
					t.Errorf("%s of comparison %d: %v, want %v", quantity, k, got, want)
				}
			}
			r := results[0]
			hold("F", -1, r.F, c.Want.F, 1e-8)
			hold("p", -1, r.P, c.Want.P, 1e-12)
			for k, want := range c.Want.Comparisons {
				got := r.Families[0].Comparisons[k]
				if !got.Estimable {
					t.Errorf("comparison %d is not estimable", k)
				}
				hold("estimate", k, got.Estimate, want.Estimate, 1e-9)
				hold("standard error", k, got.SE, want.SE, 1e-9)
				hold("share between whole plots", k, got.Between, want.Between, 1e-9)
				hold("p", k, got.P, want.P, 1e-12)
				hold("adjusted p", k, got.PAdjusted, want.PAdjusted, 1e-12)
				hold("p were nothing different", k, got.PComplete, want.PComplete, 1e-12)
				if c.Alpha == 0 {
					continue
				}
				hold("lower end", k, got.Low, orInfinite(want.Low, -1), 1e-5)
				hold("upper end", k, got.High, orInfinite(want.High, 1), 1e-5)
			}
			if !math.IsNaN(r.Families[0].F) {
				t.Errorf("F of the family %v, want none", r.Families[0].F)
			}
		})
	}
}
