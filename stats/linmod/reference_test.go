package linmod

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/stats/internal/accuracy"
)

// reference is one case of testdata/reference.json, made by testdata/make.R with
// R's lm, Type II sums of squares from nested lm fits (and car::Anova), and
// emmeans.
type reference struct {
	Name       string
	Y          []*float64
	Blocks     []column
	Covariates []struct {
		Name  string
		Value []float64
		By    string
	}
	By      []column
	Factors []column
	Order   int

	N, Rank, DF int
	RSS, TSS    float64
	Anova       []struct {
		Name, Kind string
		DF         int
		SS         float64
	}
	Joint struct {
		DF int
		SS float64
	}
	Means []struct {
		Factors      []int
		Value        []*float64
		SE           []*float64
		Pairs        [][2]int
		Difference   []*float64
		DifferenceSE []*float64 `json:"difference_se"`
	}
	Used      []int
	Residuals []float64
	Leverages []float64
}

type column struct {
	Name   string
	Levels []string
	Code   []int32
}

func readReference(t *testing.T) []reference {
	t.Helper()
	data, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []reference
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	return cases
}

// model returns the model and the response of a reference case.
func (c *reference) model() (Model, []float64) {
	m := Model{Order: c.Order}
	for _, f := range c.Blocks {
		m.Blocks = append(m.Blocks, Factor(f))
	}
	for _, f := range c.Factors {
		m.Factors = append(m.Factors, Factor(f))
	}
	for _, v := range c.Covariates {
		cov := Covariate{Name: v.Name, Value: v.Value}
		for _, fs := range [][]Factor{m.Blocks, m.Factors} {
			for i := range fs {
				if fs[i].Name == v.By {
					cov.By = &fs[i]
				}
			}
		}
		m.Covariates = append(m.Covariates, cov)
	}
	y := missing(len(c.Y))
	for i, v := range c.Y {
		if v != nil {
			y[i] = *v
		}
	}
	return m, y
}

// near reports whether got is want to within tol of the larger of want and size.
func near(got, want, size, tol float64) bool {
	return math.Abs(got-want) <= tol*max(math.Abs(want), size)
}

func againstR(t *testing.T, page *accuracy.Section) {
	const tol = 1e-11
	kinds := map[string]Kind{"block": BlockTerm, "covariate": CovariateTerm, "treatment": TreatmentTerm}
	for _, c := range readReference(t) {
		t.Run(c.Name, func(t *testing.T) {
			m, y := c.model()
			r, err := Fit(m, y)
			if err != nil {
				t.Fatal(err)
			}
			if r.N != c.N || r.Rank != c.Rank || r.DF != c.DF {
				t.Errorf("N, Rank, DF = %d, %d, %d, want %d, %d, %d", r.N, r.Rank, r.DF, c.N, c.Rank, c.DF)
			}
			if !near(r.TSS, c.TSS, 0, tol) || !near(r.RSS, c.RSS, c.TSS, tol) {
				t.Errorf("TSS, RSS = %v, %v, want %v, %v", r.TSS, r.RSS, c.TSS, c.RSS)
			}
			rows := r.ANOVA()
			if len(rows) != len(c.Anova)+1 {
				t.Fatalf("%d rows, want %d and the residual", len(rows), len(c.Anova))
			}
			page.Line("residual sum of squares, of the total", onR, byR).AddIn(r.RSS, c.RSS, c.TSS)
			for i, want := range c.Anova {
				got := rows[i]
				page.Line("sum of squares of a term, of the total", onR, byR).AddIn(got.SS, want.SS, c.TSS)
				if strings.Join(got.Factors, ":") != want.Name && got.Name != want.Name || got.Kind != kinds[want.Kind] || got.DF != want.DF ||
					!near(got.SS, want.SS, c.TSS, tol) {
					t.Errorf("row %d = %+v, want %+v", i, got, want)
				}
			}
			if got, want := rows[len(rows)-1], (Row{Name: "residual", Kind: ResidualTerm, DF: r.DF, SS: r.RSS}); !cmp.Equal(got, want) {
				t.Errorf("last row = %+v, want %+v", got, want)
			}
			if got := r.Joint(); got.DF != c.Joint.DF || !near(got.SS, c.Joint.SS, c.TSS, tol) {
				t.Errorf("Joint = %+v, want %+v", got, c.Joint)
			}
			compareMeans(t, page, &c, r)
			compareRows(t, page, &c, r)
		})
	}
}

func compareMeans(t *testing.T, page *accuracy.Section, c *reference, r *Result) {
	t.Helper()
	const tol = 1e-10
	sd := math.Sqrt(c.TSS / float64(c.N))
	check := func(what string, e *Estimates, i int, value, se *float64) {
		t.Helper()
		if e.Estimable[i] != (value != nil) {
			t.Errorf("%s: estimable is %v", what, e.Estimable[i])
		}
		if value == nil {
			return
		}
		page.Line("adjusted means and differences, of the response's spread", onR, byR).AddIn(e.Value[i], *value, max(sd, math.Abs(*value)))
		if !near(e.Value[i], *value, sd, tol) {
			t.Errorf("%s = %v, want %v", what, e.Value[i], *value)
		}
		if se == nil {
			return // no residual degrees of freedom
		}
		got := math.Sqrt(e.Cov.At(i, i) * r.Sigma2)
		page.Line("standard errors", onR, byR).Add(got, *se)
		if !near(got, *se, 0, tol) {
			t.Errorf("se of %s = %v, want %v", what, got, *se)
		}
	}
	for _, want := range c.Means {
		m, err := r.Means(want.Factors...)
		if err != nil {
			t.Fatal(err)
		}
		if len(m.N) != len(want.Value) {
			t.Fatalf("%d means over %v, want %d", len(m.N), want.Factors, len(want.Value))
		}
		all := m.All()
		for i, v := range want.Value {
			check("mean "+name(c, want.Factors, m.Levels[i]), all, i, v, want.SE[i])
		}
		weights := make([][]float64, len(want.Pairs))
		for i, p := range want.Pairs {
			weights[i] = make([]float64, len(m.N))
			weights[i][p[0]], weights[i][p[1]] = 1, -1
		}
		differences := m.Contrasts(weights)
		for i, p := range want.Pairs {
			what := name(c, want.Factors, m.Levels[p[0]]) + " - " + name(c, want.Factors, m.Levels[p[1]])
			check(what, differences, i, want.Difference[i], want.DifferenceSE[i])
		}
	}
}

func name(c *reference, factors, levels []int) string {
	s := ""
	for i, f := range factors {
		s += " " + c.Factors[f].Levels[levels[i]]
	}
	return s
}

func compareRows(t *testing.T, page *accuracy.Section, c *reference, r *Result) {
	t.Helper()
	const tol = 1e-11
	sd := math.Sqrt(c.TSS / float64(c.N))
	e, h, fit := r.Residuals(), r.Leverages(), r.Fitted()
	for i, row := range c.Used {
		page.Line("residuals, of the response's spread", onR, byR).AddIn(e[row], c.Residuals[i], sd)
		page.Line("leverages", onR, byR).AddIn(h[row], c.Leverages[i], 1)
		if !near(e[row], c.Residuals[i], sd, tol) {
			t.Errorf("residual of row %d = %v, want %v", row, e[row], c.Residuals[i])
		}
		if !near(h[row], c.Leverages[i], 1, tol) {
			t.Errorf("leverage of row %d = %v, want %v", row, h[row], c.Leverages[i])
		}
		if got := fit[row] + e[row]; !near(got, *c.Y[row], 0, 1e-15) {
			t.Errorf("fitted + residual of row %d = %v, want %v", row, got, *c.Y[row])
		}
	}
	for row := range c.Y {
		used := slices.Contains(c.Used, row)
		if r.Used[row] != used || math.IsNaN(e[row]) == used || math.IsNaN(h[row]) == used || math.IsNaN(fit[row]) == used {
			t.Errorf("row %d: Used %v, residual %v, leverage %v, fitted %v; want used %v", row, r.Used[row], e[row], h[row], fit[row], used)
		}
	}
}
