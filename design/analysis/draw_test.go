package analysis_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// enumerated is what testdata/randomisation/randomisation.py finds by listing the
// orders of that campaign on its own.
type enumerated struct {
	Orders    int
	Responses []struct {
		Name        string
		F, P        float64
		Comparisons []struct {
			Level, Against string
			P, Low, High   float64
		}
	}
}

func TestRandomisationIsExact(t *testing.T) {
	const dir = "testdata/randomisation"
	text, err := os.ReadFile(filepath.Join(dir, "randomisation.json"))
	if err != nil {
		t.Fatal(err)
	}
	var want enumerated
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	v, err := analysis.Verdict(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	for i, w := range want.Responses {
		r := v.Responses[i]
		g := r.Randomise
		if g == nil {
			t.Fatalf("%s: no randomisation test; checks %+v", w.Name, r.Checks)
		}
		if !g.Exact || g.Orders != want.Orders || !near(float64(g.Statistic), w.F, 1e-11) || !near(float64(g.P), w.P, 1e-15) {
			t.Errorf("%s: %+v, want all %d orders, F %v and p %v", w.Name, *g, want.Orders, w.F, w.P)
		}
		for k, x := range w.Comparisons {
			c := r.Comparisons[k]
			if c.Level != x.Level || c.Against != x.Against {
				t.Fatalf("%s: comparison %d is %s against %s, want %s against %s", w.Name, k, c.Level, c.Against, x.Level, x.Against)
			}
			// The ends are where an order's statistic ties: the script and the test allow
			// ties a little apart.
			if !near(float64(c.PRandom), x.P, 1e-15) || !near(float64(c.LowRandom), x.Low, 1e-8) || !near(float64(c.HighRandom), x.High, 1e-8) {
				t.Errorf("%s, %s against %s: p %v, %v to %v; want p %v, %v to %v", w.Name, x.Level, x.Against, c.PRandom, c.LowRandom, c.HighRandom, x.P, x.Low, x.High)
			}
		}
	}
}

func near(got, want, tolerance float64) bool {
	return math.Abs(got-want) <= tolerance*max(math.Abs(want), math.Abs(got))
}

// Fresh draws come near to what all orders say, and are the same ones every time
// and on any number of processors.
func TestRandomisationByFreshDraws(t *testing.T) {
	s, err := sheet.Open("testdata/randomisation")
	if err != nil {
		t.Fatal(err)
	}
	judge := func(draws int) *verdict.Response {
		v, err := analysis.VerdictOver(t.Context(), s, draws)
		if err != nil {
			t.Fatal(err)
		}
		return &v.Responses[0]
	}
	const draws = 3000
	all, some := judge(analysis.Draws), judge(draws)
	if some.Randomise.Exact || some.Randomise.Orders != draws {
		t.Fatalf("%+v, want %d draws of more orders", *some.Randomise, draws)
	}
	for k, c := range some.Comparisons {
		p := float64(all.Comparisons[k].PRandom)
		if tolerance := 5*math.Sqrt(p*(1-p)/draws) + 1.0/draws; math.Abs(float64(c.PRandom)-p) > tolerance {
			t.Errorf("%s against %s: p %v of %d draws, %v of all orders: more than %.2g apart", c.Level, c.Against, c.PRandom, draws, p, tolerance)
		}
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	alone := judge(draws)
	for k, c := range some.Comparisons {
		if a := alone.Comparisons[k]; a.PRandom != c.PRandom || a.LowRandom != c.LowRandom || a.HighRandom != c.HighRandom {
			t.Errorf("%s against %s: %v, %v, %v; on one processor %v, %v, %v", c.Level, c.Against, c.PRandom, c.LowRandom, c.HighRandom, a.PRandom, a.LowRandom, a.HighRandom)
		}
	}
}

// noisy is a response that answers to the first factor, with noise.
func noisy(r *sheet.Run) string {
	noise := rand.New(rand.NewPCG(7, uint64(r.Run)))
	return fmt.Sprintf("%.4f", 100+0.3*float64(len(r.Levels[0]))+float64(r.Levels[0][0]%5)+noise.NormFloat64())
}

const someFactors = `title = "Props"
scope = "pod thruster no. 3"
[[factor]]
name = "prop"
levels = ["A", "B", "C"]
baseline = "A"
`

const otherFactor = `[[factor]]
name = "weakening"
levels = [0, 4]
baseline = 0
`

const thrust = `[[response]]
name = "thrust"
better = "higher"
margin = 2
`

// Whatever the kind of order, its F is that of the analysis of variance, which another
// package computes in another way; the drawn order counts, so p is above zero; and
// orders of the kind are what is drawn.
func TestRandomisationOfEveryKindOfOrder(t *testing.T) {
	tests := []struct {
		name   string
		plan   string
		extend []int
		exact  bool
	}{
		{"complete blocks", someFactors + "[block]\ncount = 3\nreplicates = 2\n" + thrust, nil, false},
		{"few orders", someFactors + "[block]\ncount = 2\nreplicates = 2\n" + thrust, nil, true},
		{"own drift", someFactors + "[block]\ncount = 3\nreplicates = 2\n[drift]\nmodel = \"quadratic\"\nown = true\n" + thrust, nil, true},
		{"rows and columns", someFactors + "[block]\ncount = 6\nreplicates = 1\n[drift]\nmodel = \"position\"\n" + thrust, nil, false},
		{"main effects", "interactions = false\n" + someFactors + otherFactor + "[block]\ncount = 3\nreplicates = 1\n" + thrust, nil, false},
		{"combinations", "interactions = true\n" + someFactors + otherFactor + "[block]\ncount = 3\nreplicates = 1\n" + thrust, nil, false},
		{"chosen", "interactions = false\ntreatments = [{prop = \"A\", weakening = 0}, {prop = \"B\", weakening = 0}, {prop = \"C\", weakening = 4}, {prop = \"A\", weakening = 4}]\n" +
			someFactors + otherFactor + "[block]\ncount = 4\nreplicates = 1\n" + thrust, nil, false},
		{"incomplete blocks", "interactions = true\n" + someFactors + otherFactor + "[block]\ncount = 6\nruns = 4\n" + thrust, nil, false},
		{"carry-over", someFactors + "[block]\ncount = 6\nreplicates = 1\n[order]\ncarry_over = true\n" + thrust, nil, true},
		{"warm-up and reference runs", someFactors + "[block]\ncount = 3\nreplicates = 1\n[order]\nwarmup = 1\nreference = [3]\n" + thrust, nil, true},
		{"baseline", someFactors + "[block]\ncount = 3\nreplicates = 2\n" + thrust + "[analysis]\ncompare = \"baseline\"\n", nil, false},
		{"best", someFactors + "[block]\ncount = 3\nreplicates = 2\n" + thrust + "[analysis]\ncompare = \"best\"\n", nil, false},
		{"extended", someFactors + "[block]\ncount = 2\nreplicates = 2\n" + thrust, []int{1, 2}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := campaigntest.Measured(t, tt.plan, tt.extend, noisy)
			v, err := analysis.VerdictOver(t.Context(), s, 4000)
			if err != nil {
				t.Fatal(err)
			}
			r := &v.Responses[0]
			g := r.Randomise
			if g == nil {
				t.Fatalf("no randomisation test; checks %+v", r.Checks)
			}
			f := r.Overall.F
			if r.CarryOver != nil { // which the orders do not take out
				f = withoutCarryOver(t, s)
			}
			if r.Model.Method == "least squares" && !near(float64(g.Statistic), float64(f), 1e-9) { // that of REML is another
				t.Errorf("F %v, by the analysis of variance %v", g.Statistic, f)
			}
			if g.Exact != tt.exact || !(g.P > 0 && g.P <= 1) {
				t.Errorf("%+v, want exact %v and p in (0, 1]", *g, tt.exact)
			}
			for _, c := range r.Comparisons {
				if r.CarryOver != nil {
					if c.PRandom.Known() || c.LowRandom.Known() || c.HighRandom.Known() {
						t.Errorf("%s against %s: p %v, %v to %v by orders that do not take carry-over out", c.Level, c.Against, c.PRandom, c.LowRandom, c.HighRandom)
					}
					continue
				}
				if !(c.PRandom > 0 && c.PRandom <= 1) {
					t.Errorf("%s: %s against %s: p %v", c.Factors.Term(), c.Level, c.Against, c.PRandom)
				}
				if !(c.LowRandom <= c.Estimate && c.Estimate <= c.HighRandom) {
					t.Errorf("%s: %s against %s: %v outside %v to %v", c.Factors.Term(), c.Level, c.Against, c.Estimate, c.LowRandom, c.HighRandom)
				}
			}
		})
	}
}

// withoutCarryOver is the F of all treatments, what they carry over not in the model.
func withoutCarryOver(t *testing.T, s *sheet.Sheet) verdict.Number {
	t.Helper()
	d, q := question.Of(s)
	q.CarryOver = false
	v, err := verdict.Analyse(t.Context(), d, q)
	if err != nil {
		t.Fatal(err)
	}
	return v.Responses[0].Overall.F
}

// Runs that failed, were spoiled or are still to do stay away from every order.
func TestRandomisationWithMissingRuns(t *testing.T) {
	plan := someFactors + "[block]\nrandom = false\ncount = 3\nreplicates = 2\n" + thrust
	s := campaigntest.Measured(t, plan, nil, func(r *sheet.Run) string {
		switch r.Run {
		case 4:
			return "failed"
		case 9:
			return "void"
		case 17, 18:
			return ""
		}
		return noisy(r)
	})
	v, err := analysis.Verdict(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	if r := &v.Responses[0]; r.Runs.OK != 14 || r.Randomise == nil || !near(float64(r.Randomise.Statistic), float64(r.Overall.F), 1e-9) {
		t.Errorf("runs %+v, randomisation %+v, F %v", r.Runs, r.Randomise, r.Overall.F)
	}
}

// An order that its record does not allow cannot be tested, and that is said.
func TestRandomisationWithoutASet(t *testing.T) {
	s := campaigntest.Filled(t, fmt.Sprintf(campaigntest.StrataPlan, ""), [][]int{{0, 1}, {1, 1}}, []float64{1, 2, 3, 4})
	v, err := analysis.Verdict(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	r := &v.Responses[0]
	k := slices.IndexFunc(r.Checks, func(c verdict.Check) bool { return c.Name == "randomisation" })
	if r.Randomise != nil || k < 0 || !r.Checks[k].Flag || !strings.Contains(r.Checks[k].Message, "not checked: ") {
		t.Errorf("randomisation %+v, checks %+v; want none, and words why", r.Randomise, r.Checks)
	}
}
