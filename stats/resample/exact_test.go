package resample

import (
	"encoding/json"
	"iter"
	"math"
	"os"
	"testing"

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

// TestExact holds every number of a result against models fitted anew to every
// order. P-values must agree to the last order counted, ties included.
func TestExact(t *testing.T) {
	const fitted, counted, searched = 1e-9, 1e-12, 1e-7
	for _, c := range exactCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			d, y := c.design()
			test, err := d.Test(y)
			if err != nil {
				t.Fatal(err)
			}
			results, err := Enumerate(c.all(), test)
			if err != nil {
				t.Fatal(err)
			}
			r, want := results[0], c.Want
			if !near(r.F, want.F, fitted) || r.DF1 != want.DF1 || r.DF2 != want.DF2 {
				t.Errorf("F(%d, %d) = %v, want F(%d, %d) = %v", r.DF1, r.DF2, r.F, want.DF1, want.DF2, want.F)
			}
			if !near(r.P, want.P, counted) || !r.Exact || r.Draws != len(c.Orders) {
				t.Errorf("P = %v of %d orders, exact %v; want %v of %d", r.P, r.Draws, r.Exact, want.P, len(c.Orders))
			}
			for i, f := range r.Families {
				want := want.Families[i]
				if !near(f.F, want.F, fitted) || f.DF1 != want.DF1 || !near(f.P, want.P, counted) {
					t.Errorf("family %d: F %v on %d, P %v; want F %v on %d, P %v", i, f.F, f.DF1, f.P, want.F, want.DF1, want.P)
				}
				for k, got := range f.Comparisons {
					want := want.Comparisons[k]
					if !got.Estimable || !near(got.Estimate, want.Estimate, fitted) || !near(got.SE, want.SE, fitted) || !near(got.T, want.Estimate/want.SE, fitted) {
						t.Errorf("family %d comparison %d: %v, SE %v, t %v; want %v, SE %v", i, k, got.Estimate, got.SE, got.T, want.Estimate, want.SE)
					}
					if !near(got.P, want.P, counted) || !near(got.PAdjusted, want.PAdjusted, counted) || !near(got.PComplete, want.PComplete, counted) {
						t.Errorf("family %d comparison %d: P, adjusted, complete = %v, %v, %v; want %v, %v, %v", i, k,
							got.P, got.PAdjusted, got.PComplete, want.P, want.PAdjusted, want.PComplete)
					}
					if end := orInfinite(want.Low, -1); got.Low != end && !near(got.Low, end, searched) {
						t.Errorf("family %d comparison %d: Low %v, want %v", i, k, got.Low, end)
					}
					if end := orInfinite(want.High, 1); got.High != end && !near(got.High, end, searched) {
						t.Errorf("family %d comparison %d: High %v, want %v", i, k, got.High, end)
					}
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
