package analysis_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
)

func explain(t *testing.T, s *sheet.Sheet) *analysis.Explanation {
	t.Helper()
	e, err := analysis.Explain(s)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func TestExplainAgreesWithOrder(t *testing.T) {
	for _, tables := range []string{
		"[block]\ncount = 4\nreplicates = 2\n[drift]\nmodel = \"none\"\n",
		"[block]\ncount = 3\nreplicates = 1\n[drift]\nmodel = \"linear\"\n",
		"[block]\ncount = 3\nreplicates = 2\n[drift]\nmodel = \"quadratic\"\nown = true\n",
		"[block]\ncount = 5\nreplicates = 1\n[drift]\nmodel = \"position\"\n",
		"[block]\ncount = 3\nreplicates = 2\n[drift]\nmodel = \"curve\"\n",
		"[block]\ncount = 4\nreplicates = 3\n[drift]\nmodel = \"curve\"\nown = true\n",
		"[block]\ncount = 6\nruns = 7\n[drift]\nmodel = \"curve\"\n[order]\nwarmup = 1\n",
		"[block]\ncount = 10\nruns = 3\n",
		"[block]\ncount = 3\nruns = 7\n[drift]\nmodel = \"linear\"\nown = true\n",
		"[block]\ncount = 4\nreplicates = 1\n[order]\ncarry_over = true\n",
		"[block]\ncount = 4\nreplicates = 1\n[order]\nwarmup = 2\nreference = [3, 8]\n",
	} {
		s := campaigntest.Drawn(t, campaigntest.ExplainPlan+tables)
		e := explain(t, s)
		o := s.Draw.Order
		q, err := order.Assess(o.Plan, o.Blocks)
		if err != nil {
			t.Fatal(err)
		}
		f := e.Families[0]
		if len(f.Comparisons) != 10 {
			t.Fatalf("%d comparisons of 5 levels, want 10", len(f.Comparisons))
		}
		if math.Abs(float64(e.Efficiency)-o.Efficiency) > 1e-9 || math.Abs(q.Efficiency-o.Efficiency) > 1e-9 {
			t.Errorf("%s: efficiency %v, of the order %v and %v", tables, e.Efficiency, o.Efficiency, q.Efficiency)
		}
		if want := q.DF - s.Campaign.Freedom().CarryOver; e.DF != want {
			t.Errorf("%s: %d degrees of freedom, want %d", tables, e.DF, want)
		}
		k := 0
		for j := range 5 {
			for i := range j {
				p := f.Comparisons[k]
				k++
				if math.Abs(p.Variance-q.Variance[j][i]) > 1e-9 || math.Abs(p.WithoutDrift-q.VarianceWithoutDrift[j][i]) > 1e-9 {
					t.Errorf("%s: %s against %s: variance %v and %v without drift, want %v and %v",
						tables, p.Level, p.Against, p.Variance, p.WithoutDrift, q.Variance[j][i], q.VarianceWithoutDrift[j][i])
				}
			}
		}
	}
}

func TestExplainCovariates(t *testing.T) {
	const draws = 1500
	plain := campaigntest.Drawn(t, campaigntest.ExplainPlan+"[block]\ncount = 3\nreplicates = 1\n")
	s := campaigntest.Drawn(t, campaigntest.ExplainPlan+"[block]\ncount = 3\nreplicates = 1\n[analysis]\ncovariates = [\"start_temp\", \"start_volts\"]\n")
	before, e := explain(t, plain), explain(t, s)
	if before.Widening.Known() || len(before.Covariates) > 0 {
		t.Errorf("without covariates: %v and widening %v", before.Covariates, before.Widening)
	}
	if got := fmt.Sprint(e.Covariates, e.DF, e.Strata[0].DF); got != "[start_temp start_volts] 5 5" || before.DF != 7 {
		t.Errorf("covariates and degrees of freedom %s after %d without, want [start_temp start_volts] 5 5 after 7", got, before.DF)
	}
	if a, b := before.Families[0].Responses[0].InNoise, e.Families[0].Responses[0].InNoise; !(b > a) {
		t.Errorf("the smallest difference found is %v of the noise with covariates, %v without", b, a)
	}
	// 2 of 7 degrees of freedom: √(1 + 2/4).
	if want := math.Sqrt(1.5) - 1; math.Abs(float64(e.Widening)-want) > 1e-15 {
		t.Errorf("widening %v, want %v", e.Widening, want)
	}

	// With 12 degrees of freedom the ratio has a variance to simulate.
	s = campaigntest.Drawn(t, campaigntest.ExplainPlan+"[block]\ncount = 4\nreplicates = 1\n[drift]\nmodel = \"none\"\n[analysis]\ncovariates = [\"start_temp\"]\n")
	position := make([]int, len(s.Runs))
	d := question.Columns(s, position)
	r := rand.New(rand.NewPCG(1, 2))
	x := linmod.Covariate{Name: "x", Value: make([]float64, len(s.Runs))}
	y := make([]float64, len(s.Runs))
	var sum, squares float64
	for range draws {
		for i := range x.Value {
			x.Value[i] = r.NormFloat64()
		}
		fit, err := linmod.Fit(linmod.Model{Blocks: d.Blocks, Covariates: []linmod.Covariate{x}, Factors: d.Treatments, Order: 1}, y)
		if err != nil {
			t.Fatal(err)
		}
		means, err := fit.Means(0)
		if err != nil {
			t.Fatal(err)
		}
		ratio := means.Contrasts([][]float64{{-1, 1, 0, 0, 0}}).Cov.At(0, 0) / (2. / 4)
		sum += ratio
		squares += ratio * ratio
	}
	mean := sum / draws
	se := math.Sqrt((squares/draws - mean*mean) / draws)
	if want := math.Pow(1+float64(explain(t, s).Widening), 2); math.Abs(mean-want) > 4*se {
		t.Errorf("variance over that without the covariate %v ± %v, stated %v", mean, se, want)
	}
}

func TestExplainOwnDrift(t *testing.T) {
	plan := strings.Replace(campaigntest.ExplainPlan, "[0, 4, 8, 12, 16]", "[0, 4]", 1) + "[block]\ncount = 2\nreplicates = 2\n"
	for drift, want := range map[string]float64{"model = \"linear\"": 0, "model = \"linear\"\nown = true": 0.8} {
		e := explain(t, campaigntest.Filled(t, plan+"[drift]\n"+drift+"\n", [][]int{{0, 0, 1, 1}, {1, 1, 0, 0}}, nil))
		p := e.Families[0].Comparisons[0]
		if got := p.WithoutDrift / p.Variance; math.Abs(got-(1-want)) > 1e-12 {
			t.Errorf("%s: efficiency %v, want %v", drift, got, 1-want)
		}
		for _, placed := range e.Treatments {
			if got := float64(placed.Drift); math.Abs(got*got-want) > 1e-12 || math.Abs(float64(placed.Linear)) > 1e-12 {
				t.Errorf("%s: treatment %s is correlated by %v with the drift and %v with the order, want √%v and 0", drift, placed.Treatment, got, placed.Linear, want)
			}
		}
	}
	e := explain(t, campaigntest.Drawn(t, plan+"[drift]\nmodel = \"none\"\n"))
	if e.Treatments[0].Drift.Known() {
		t.Errorf("without drift there is a correlation of %v with it", e.Treatments[0].Drift)
	}
}

func TestExplainMainEffects(t *testing.T) {
	e := explain(t, campaigntest.Drawn(t, `title = "Field weakening"
scope = "pod thruster no. 3"
interactions = false
[[factor]]
name = "prop"
levels = ["A", "B"]
[[factor]]
name = "weakening"
levels = [0, 4, 8]
baseline = 4
[[response]]
name = "spin_up"
better = "lower"
[block]
count = 2
replicates = 2
[drift]
model = "none"
`))
	want := []analysis.ExplainedPair{{Level: "B", Against: "A", Variance: 2. / 12, WithoutDrift: 2. / 12}}
	for _, p := range [][2]string{{"4", "0"}, {"8", "0"}, {"8", "4"}} {
		want = append(want, analysis.ExplainedPair{Level: p[0], Against: p[1], Variance: 2. / 8, WithoutDrift: 2. / 8})
	}
	got := append(e.Families[0].Comparisons, e.Families[1].Comparisons...)
	near := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-12 })
	if diff := cmp.Diff(want, got, near); diff != "" {
		t.Errorf("comparisons (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{
		"interactions are taken to be absent: where there are some, they are counted as noise or as main effects",
		"drift within a block, which the plan takes to be absent, is counted as noise or as an effect",
	}, e.Confounded); diff != "" {
		t.Errorf("confounded (-want +got):\n%s", diff)
	}
}

func TestExplainDetectable(t *testing.T) {
	plan := strings.Replace(campaigntest.ExplainPlan, "[0, 4, 8, 12, 16]", "[0, 4]", 1) +
		"noise = 2\nunit = \"N\"\nmargin = 3\n[block]\ncount = 1\nreplicates = 8\n[drift]\nmodel = \"none\"\n"
	d := explain(t, campaigntest.Drawn(t, plan)).Families[0].Responses[0]
	const want = 1.744531767
	if math.Abs(float64(d.InNoise)-want) > 1e-6 || math.Abs(float64(d.Value)-2*want) > 2e-6 || d.Relative {
		t.Errorf("detectable %v times the noise, %v N; want %v and %v", d.InNoise, d.Value, want, 2*want)
	}
}

func TestExplainBaseline(t *testing.T) {
	e := explain(t, campaigntest.Drawn(t, campaigntest.ExplainPlan+"[block]\ncount = 4\nreplicates = 1\n[analysis]\ncompare = \"baseline\"\n"))
	var got []string
	for _, p := range e.Families[0].Comparisons {
		got = append(got, p.Level+" "+p.Against)
	}
	if diff := cmp.Diff([]string{"4 0", "8 0", "12 0", "16 0"}, got); diff != "" {
		t.Errorf("comparisons (-want +got):\n%s", diff)
	}
}

func TestExplainPairsThatNeverMeet(t *testing.T) {
	plan := strings.Replace(campaigntest.ExplainPlan, "[0, 4, 8, 12, 16]", "[0, 4, 8, 12, 16, 20]", 1)
	s := campaigntest.Drawn(t, plan+"[block]\nname = \"pack\"\ncount = 3\nruns = 4\n[drift]\nmodel = \"none\"\n")
	met := map[[2]int]bool{}
	for _, block := range s.Draw.Order.Blocks {
		for _, i := range block {
			for _, j := range block {
				if i < j {
					met[[2]int{i, j}] = true
				}
			}
		}
	}
	want := fmt.Sprintf("%d of the 15 pairs of treatments never meet in a pack and are compared by way of others", 15-len(met))
	if got := explain(t, s).Confounded; len(got) < 1 || (len(met) < 15) != (got[0] == want) {
		t.Errorf("confounded %q, want %q", got, want)
	}
}

func TestExplainAliases(t *testing.T) {
	var factors strings.Builder
	for _, name := range []string{"prop", "nozzle", "coating", "strut"} {
		fmt.Fprintf(&factors, "[[factor]]\nname = %q\nlevels = [0, 1]\n", name)
	}
	e := explain(t, campaigntest.Drawn(t, "title = \"a\"\nscope = \"b\"\n"+factors.String()+
		"[[response]]\nname = \"pull\"\nbetter = \"higher\"\n[block]\ncount = 1\nreplicates = 2\n[order]\nresolution = \"IV\"\n"))
	if diff := cmp.Diff([]string{
		"the interaction of prop and nozzle cannot be distinguished from the interaction of coating and strut",
		"the interaction of prop and coating cannot be distinguished from the interaction of nozzle and strut",
		"the interaction of prop and strut cannot be distinguished from the interaction of nozzle and coating",
	}, e.Confounded); diff != "" {
		t.Errorf("confounded (-want +got):\n%s", diff)
	}
}
