package resample

import (
	"context"
	"encoding/json"
	"iter"
	"math"
	"os"
	"testing"

	"fairrun/stats/internal/accuracy"
	"fairrun/stats/linmod"
)

// exactCase is one case of testdata/exact.json, made by testdata/make.py, which
// refits every model to every order.
type exactCase struct {
	Name       string
	Block      []int32
	Covariates []struct {
		Name    string
		Value   []float64
		ByBlock bool `json:"by_block"`
	}
	Treatments int
	Effects    [][]float64
	Families   [][][]float64
	Alpha      float64
	Orders     []string // a digit for the treatment of each slot
	Drawn      []int32
	Y          []*float64
	Want       struct {
		F, P     float64
		DF1, DF2 int
		Families []struct {
			F, P        float64
			DF1         int
			Comparisons []struct {
				Estimate, SE, P float64
				PAdjusted       float64 `json:"p_adjusted"`
				PComplete       float64 `json:"p_complete"`
				Low, High       *float64
			}
		}
	}
}

func exactCases(t testing.TB) []exactCase {
	data, err := os.ReadFile("testdata/exact.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []exactCase
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	if len(cases) == 0 {
		t.Fatal("no cases")
	}
	return cases
}

// design returns the design and the response of a case.
func (c *exactCase) design() (*Design, []float64) {
	block := linmod.Factor{Name: "pack", Code: c.Block}
	block.Levels = make([]string, c.Block[len(c.Block)-1]+1)
	d := &Design{Treatments: c.Treatments, Drawn: c.Drawn, Effects: c.Effects, Alpha: c.Alpha}
	d.Slots.Blocks = []linmod.Factor{block}
	for _, v := range c.Covariates {
		x := linmod.Covariate{Name: v.Name, Value: v.Value}
		if v.ByBlock {
			x.By = &block
		}
		d.Slots.Covariates = append(d.Slots.Covariates, x)
	}
	for _, f := range c.Families {
		d.Families = append(d.Families, Family{Contrasts: f})
	}
	y := make([]float64, len(c.Y))
	for i, v := range c.Y {
		y[i] = math.NaN()
		if v != nil {
			y[i] = *v
		}
	}
	return d, y
}

// all yields the orders of a case.
func (c *exactCase) all() iter.Seq[[]int32] {
	return func(yield func([]int32) bool) {
		order := make([]int32, len(c.Drawn))
		for _, text := range c.Orders {
			for i := range text {
				order[i] = int32(text[i] - '0')
			}
			if !yield(order) {
				return
			}
		}
	}
}

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol*max(1, math.Abs(want)) }

// accuracyExact holds every number of a result against models fitted again to every
// order. P-values must agree to the last order counted, ties included.
func accuracyExact(t *testing.T, page *accuracy.Section) {
	const (
		where, maker              = "designs of 64 to 936 orders", "every order fitted again (make.py)"
		fitted, counted, searched = 1e-9, 1e-12, 1e-7
	)
	hold := func(t *testing.T, quantity string, got, want, unit, tolerance float64) {
		t.Helper()
		if e := page.Line(quantity, where, maker).AddIn(got, want, unit); !(e <= tolerance) {
			t.Errorf("%s = %v, want %v", quantity, got, want)
		}
	}
	for _, c := range exactCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			d, y := c.design()
			test, err := d.Test(y)
			if err != nil {
				t.Fatal(err)
			}
			results, err := Enumerate(context.Background(), c.all(), test)
			if err != nil {
				t.Fatal(err)
			}
			r, want := results[0], c.Want
			hold(t, "F of all treatments, or of a family", r.F, want.F, max(1, want.F), fitted)
			hold(t, "p of all treatments", r.P, want.P, want.P, counted)
			if r.DF1 != want.DF1 || r.DF2 != want.DF2 || !r.Exact || r.Orders != len(c.Orders) {
				t.Errorf("F(%d, %d) of %d orders, exact %v; want F(%d, %d) of %d", r.DF1, r.DF2, r.Orders, r.Exact, want.DF1, want.DF2, len(c.Orders))
			}
			for i, f := range r.Families {
				want := want.Families[i]
				hold(t, "F of all treatments, or of a family", f.F, want.F, max(1, want.F), fitted)
				hold(t, "p of a family", f.P, want.P, want.P, counted)
				if f.DF1 != want.DF1 {
					t.Errorf("family %d: %d degrees of freedom, want %d", i, f.DF1, want.DF1)
				}
				for k, got := range f.Comparisons {
					want := want.Comparisons[k]
					if !got.Estimable {
						t.Errorf("family %d: comparison %d is not estimable", i, k)
					}
					hold(t, "difference, in standard errors", got.Estimate, want.Estimate, want.SE, fitted)
					hold(t, "standard error", got.SE, want.SE, want.SE, fitted)
					hold(t, "difference, in standard errors", got.T, want.Estimate/want.SE, 1, fitted)
					hold(t, "p of a comparison", got.P, want.P, want.P, counted)
					hold(t, "adjusted p of a comparison", got.PAdjusted, want.PAdjusted, want.PAdjusted, counted)
					hold(t, "p were no treatment to do anything", got.PComplete, want.PComplete, want.PComplete, counted)
					hold(t, "limits, in standard errors", got.Low, orInfinite(want.Low, -1), want.SE, searched)
					hold(t, "limits, in standard errors", got.High, orInfinite(want.High, 1), want.SE, searched)
				}
			}
		})
	}
}

func orInfinite(end *float64, sign int) float64 {
	if end == nil {
		return math.Inf(sign)
	}
	return *end
}
