package resample

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

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
			results, err := Enumerate(context.Background(), (&exactCase{Drawn: c.Drawn, Orders: c.Orders}).all(), test)
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

// TestWholePlotsWithoutNoise has one pack of two whole plots: nothing is left to hold
// what lies between them against, and what lies within has its numbers all the same.
func TestWholePlotsWithoutNoise(t *testing.T) {
	d := &Design{Treatments: 4, Drawn: []int32{0, 1, 0, 1, 2, 3, 2, 3}, Plots: []int32{0, 0, 0, 0, 1, 1, 1, 1}, Families: []Family{Pairs(4)}, Alpha: 0.3}
	d.Slots.Blocks = []linmod.Factor{{Name: "pack", Levels: []string{"1"}, Code: make([]int32, 8)}}
	test, err := d.Test([]float64{1, 3, 2, 5, 9, 12, 8, 13})
	if err != nil {
		t.Fatal(err)
	}
	results, err := Enumerate(context.Background(), orders(d.Drawn, []int32{1, 0, 0, 1, 2, 3, 2, 3}, []int32{2, 3, 2, 3, 0, 1, 0, 1}, []int32{2, 3, 3, 2, 0, 1, 0, 1}), test)
	if err != nil {
		t.Fatal(err)
	}
	within := []bool{true, false, false, false, false, true} // 1−0 2−0 3−0 2−1 3−1 3−2
	for k, c := range results[0].Families[0].Comparisons {
		if c.Estimable != within[k] || math.IsNaN(c.P) == within[k] || math.IsNaN(c.Low) == within[k] {
			t.Errorf("comparison %d: %+v, want numbers: %v", k, c, within[k])
		}
	}
	// By hand: 2.5 and 4, residuals ±0.5 and ±1 within 0 and 1, ±0.5 and ±0.5 within 2 and 3; 4 degrees
	// of freedom: squares 0.5 + 2 + 0.5 + 0.5 = 3.5.
	if c := results[0].Families[0].Comparisons[0]; !near(c.Estimate, 2.5, 1e-12) || !near(c.SE, math.Sqrt(3.5/4), 1e-12) || c.Between != 0 {
		t.Errorf("%+v, want 2.5 with standard error sqrt(3.5/4)", c)
	}
}

// TestWholePlotsOfBlocks has whole plots that are the blocks, between which nothing
// is left when blocks are taken out: the test is the one without.
func TestWholePlotsOfBlocks(t *testing.T) {
	for _, c := range exactCases(t) {
		d, y := c.design()
		plain, err := d.Test(y)
		if err != nil {
			t.Fatal(err)
		}
		with := *d
		with.Plots = c.Block
		plotted, err := with.Test(y)
		if err != nil {
			t.Fatal(err)
		}
		results, err := Enumerate(context.Background(), c.all(), plain, plotted)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(results[0], results[1], cmpopts.EquateNaNs()); diff != "" {
			t.Errorf("%s: %s", c.Name, diff)
		}
	}
}

// TestWholePlotsDeterministic makes a test on one and on two processors.
func TestWholePlotsDeterministic(t *testing.T) {
	d, sampler := splitPlot()
	test, err := d.Test(normals(60, 4))
	if err != nil {
		t.Fatal(err)
	}
	var results [2][]Result
	for i := range results {
		before := runtime.GOMAXPROCS(i + 1)
		results[i], err = Sample(context.Background(), 600, sampler, test)
		runtime.GOMAXPROCS(before)
		if err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(results[0], results[1], cmpopts.EquateNaNs()); diff != "" {
		t.Error(diff)
	}
}
