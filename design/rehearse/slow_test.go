//go:build slow

package rehearse

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/lot"
	"fairrun/design/size"
	"fairrun/stats/compare"
	"fairrun/stats/power"
)

// harsh returns a bench that drifts as badly as a plan's drift model allows: a thousand times the noise, another course in
// each campaign, and in each block where the plan lets blocks drift on their own. Blocks and whole plots differ by
// so many times the noise.
func harsh(between, plots float64) func(w *worker, blocks [][]int, source *lot.Stream) {
	return func(w *worker, blocks [][]int, source *lot.Stream) { w.drifting(blocks, source, between, plots) }
}

func (w *worker) drifting(blocks [][]int, source *lot.Stream, between, plots float64) {
	drift := w.plan.Drift
	var course []float64
	plot, own := -1, 0.0
	for b := range blocks {
		if b == 0 || drift.Own {
			course = courseOf(drift.Model, w.length, source)
		}
		level := between * normal(source)
		for i, t := range blocks[b] {
			s := b*w.length + i
			w.treatment[s] = t
			w.good[s] = w.counts(s) && !(uniform(source) < w.bench.Failing)
			if w.plot != nil && w.plot[s] != plot {
				plot, own = w.plot[s], plots*normal(source)
			}
			for k, m := range w.responses {
				w.drift[k][s] = m.noise * (level + own + 1000*course[i])
				w.noise[k][s] = normal(source)
			}
		}
	}
}

// courseOf draws a course over the positions.
func courseOf(model string, n int, source *lot.Stream) []float64 {
	x := make([]float64, n)
	slope, bend := normal(source), normal(source)
	for i := range x {
		at := float64(i) / float64(n)
		switch model {
		case design.DriftLinear:
			x[i] = slope * at
		case design.DriftQuadratic:
			x[i] = slope*at + bend*at*at
		case design.DriftPosition:
			x[i] = normal(source)
		}
	}
	return x
}

const slowCampaigns = 100_000

// TestHonesty holds a plan's three promises against simulation, under the worst drift it allows. Its log is
// the table of docs/honesty.md.
//
//   - False alarms of the family stay at alpha. They may be fewer where the standard errors of the pairs
//     differ (Tukey–Kramer), by less than half a point here.
//   - An interval covers the truth as often as one of its family has to: exactly P(|t| ≤ critical value).
//   - The margin is found as often as "fairrun replicates" promised, within one point.
func TestHonesty(t *testing.T) {
	blocks := func(lines string) string { return strings.Replace(sixty, "count = 4\nreplicates = 3", lines, 1) }
	t.Logf("| plan | false alarms | ± | coverage | due | ± | power | promised | ± |")
	for _, c := range []struct {
		name, plan string
		failing    float64
	}{
		{"5 levels, 4 packs, 3 replicates, no drift", sixty + "[drift]\nmodel = \"none\"\n", 0},
		{"the same, one line for all packs", sixty, 0},
		{"the same, a line for each pack", sixty + "[drift]\nown = true\n", 0},
		{"the same, one parabola", sixty + "[drift]\nmodel = \"quadratic\"\n", 0},
		{"the same, a parabola for each pack", sixty + "[drift]\nmodel = \"quadratic\"\nown = true\n", 0},
		{"5 levels, 10 packs of 5, any course over positions", blocks("count = 10\nreplicates = 1") + "[drift]\nmodel = \"position\"\n", 0},
		{"5 levels, 15 packs of 4 runs, one line", blocks("count = 15\nruns = 4"), 0},
		{"5 levels, 4 packs, 3 replicates, one line, against the baseline", planOf(t, sixty+compareWith("baseline")), 0},
		{"3 levels, 2 packs, 2 replicates, one line", strings.Replace(blocks("count = 2\nreplicates = 2"), "[0, 4, 8, 12, 16]", "[0, 4, 8]", 1), 0},
		{"5 levels, 4 packs, 3 replicates, one line, a tenth of the runs fail", sixty, 0.1},
	} {
		plan := read(t, c.plan)
		e, err := newEngine(plan, 1)
		if err != nil {
			t.Fatal(err)
		}
		e.trials = e.trials[:1]
		e.world = harsh(1000, 0)
		e.bench.Failing = c.failing
		counted, err := e.run(t.Context(), Options{Campaigns: slowCampaigns})
		if err != nil {
			t.Fatal(err)
		}
		o := e.outcome(&e.trials[0], counted.trials[0], slowCampaigns, e.responses[0], 0, 0)

		due, promised := promises(t, plan)
		found := o.Differing.Found
		t.Logf("| %s | %.2f %% | %.2f | %.2f %% | %.2f %% | %.2f | %.1f %% | %.1f %% | %.1f |", c.name, 100*o.Alarms.Value, 100*o.Alarms.SE,
			100*o.Differing.Coverage.Value, 100*due, 100*o.Differing.Coverage.SE, 100*found.Value, 100*promised, 100*found.SE)

		if a := float64(o.Alarms.Value); a > 0.05+4*float64(o.Alarms.SE) || a < 0.045-4*float64(o.Alarms.SE) {
			t.Errorf("%s: false alarms %.4f ± %.4f, alpha is 0.05", c.name, a, o.Alarms.SE)
		}
		if b := o.Differing.Bias; math.Abs(float64(b.Value)) > 4*float64(b.SE) {
			t.Errorf("%s: bias %v ± %v", c.name, b.Value, b.SE)
		}
		if c.failing > 0 {
			continue // other degrees of freedom in each campaign, and fewer runs than promised
		}
		if got := float64(o.Differing.Coverage.Value); math.Abs(got-due) > 4*float64(o.Differing.Coverage.SE) {
			t.Errorf("%s: coverage %.4f ± %.4f, due %.4f", c.name, got, o.Differing.Coverage.SE, due)
		}
		if math.Abs(float64(found.Value)-promised) > 0.01 {
			t.Errorf("%s: power %.4f ± %.4f, promised %.4f", c.name, found.Value, found.SE, promised)
		}
	}
}

// Where something is random the intervals rest on an estimated ratio of variances. False alarms in incomplete blocks
// and of easy factors stay at alpha; between levels of a hard one there are fewer, since its component may come out at
// zero: what is due is computed from mean squares alone, without a fit, by testdata/wholeplots.py. Among combinations of a hard
// and an easy factor, which lean on the noise between whole plots and that between runs, there are alpha at the most. Blocks and whole
// plots differ as much as runs do, about where that matters most.
func TestHonestyWhereSomethingIsRandom(t *testing.T) {
	wholePlots := func(packs int) string {
		return strings.Replace(strings.Replace(sixty, "[0, 4, 8, 12, 16]", "[0, 4, 8]", 1), "count = 4\nreplicates = 3", fmt.Sprintf("count = %d\nreplicates = 2", packs), 1) +
			"[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true\n"
	}
	const (
		alone = "interactions = false\n" // each factor a family
		still = "[drift]\nmodel = \"none\"\n"
	)
	incomplete := func(packs int) string {
		return strings.Replace(sixty, "count = 4\nreplicates = 3", fmt.Sprintf("count = %d\nruns = 4", packs), 1)
	}
	for _, c := range []struct {
		name, plan string
		factor     int
		due        float64
		most       bool // there are no more than due
	}{
		{"5 levels, 15 packs of 4 runs, one line", incomplete(15), 0, 0.05, false},
		{"5 levels, 10 packs of 4 runs, one line", incomplete(10), 0, 0.05, false},
		{"3 levels by 2 propellers in whole plots, 5 packs, 2 replicates, one line: levels", alone + wholePlots(5), 0, 0.05, false},
		{"the same: combinations", wholePlots(5), 0, 0.05, true},
		{"the same without drift: propellers", alone + wholePlots(5) + still, 1, dueOfWholePlots(t, 5, hard), false},
		{"the same without drift: combinations", wholePlots(5) + still, 0, 0.05, true},
		{"the same, 3 packs: combinations", wholePlots(3) + still, 0, 0.05, true},
		{"the same, 8 packs: combinations", wholePlots(8) + still, 0, 0.05, true},
	} {
		e, err := newEngine(read(t, c.plan), 1)
		if err != nil {
			t.Fatal(err)
		}
		e.trials = e.trials[:1]
		e.world = harsh(1, 1)
		e.bench.Failing = 0
		counted, err := e.run(t.Context(), Options{Campaigns: slowCampaigns})
		if err != nil {
			t.Fatal(err)
		}
		o := e.outcome(&e.trials[0], counted.trials[0], slowCampaigns, e.responses[0], 0, c.factor)
		t.Logf("| %s | %.2f %% | %.2f %% | %.2f | %.2f %% | %.2f | %.1f %% |", c.name, 100*o.Alarms.Value, 100*c.due, 100*o.Alarms.SE, 100*o.Differing.Coverage.Value, 100*o.Differing.Coverage.SE, 100*o.Differing.Found.Value)
		if off := float64(o.Alarms.Value) - c.due; off > 4*float64(o.Alarms.SE) || !c.most && -off > 4*float64(o.Alarms.SE) || off < -0.025 {
			t.Errorf("%s: false alarms %.4f ± %.4f, due %.4f", c.name, o.Alarms.Value, o.Alarms.SE, c.due)
		}
	}
}

// hard is the column of testdata/wholeplots.csv with false alarms between the levels of the hard factor.
const hard = 4

// dueOfWholePlots is the rate of false alarms that testdata/wholeplots.csv has for so many packs whose whole plots
// differ as much as runs do.
func dueOfWholePlots(t *testing.T, packs, column int) float64 {
	t.Helper()
	f, err := os.Open("testdata/wholeplots.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		if row[0] == strconv.Itoa(packs) && row[1] == "1" {
			due, err := strconv.ParseFloat(row[column], 64)
			if err != nil {
				t.Fatal(err)
			}
			return due
		}
	}
	t.Fatalf("no figure for %d packs", packs)
	return 0
}

// promises returns what the interval of one comparison has to cover, and the power that
// "fairrun replicates" promises for the margin.
func promises(t *testing.T, plan *design.Plan) (coverage, found float64) {
	t.Helper()
	free := plan.Freedom()
	levels := len(plan.Treatments())
	var family compare.Family = compare.Pairs{Levels: levels}
	if plan.Analysis.Compare == design.CompareBaseline {
		family = compare.Baseline{Levels: levels}
	}
	alone, err := power.Test{Family: family, Alpha: plan.Analysis.Alpha}.Alone(float64(free.Residual))
	if err != nil {
		t.Fatal(err)
	}
	r, err := size.Ask{}.Before(t.Context(), plan)
	if err != nil {
		t.Fatal(err)
	}
	return 1 - alone, float64(r.Responses[0].Sizes[0].Now.Power)
}

// On the physical bench, whose drift no model holds exactly, the order drawn keeps false alarms at alpha.
func TestHonestyOnTheBench(t *testing.T) {
	for name, bench := range map[string]string{
		"default": "",
		"hot":     "[simulation]\nheat = \"120 K\"\nsag = \"30%\"\nrest = \"10 s\"\n",
	} {
		r, err := Rehearse(t.Context(), read(t, sixty+bench), Options{Campaigns: slowCampaigns, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range r.Cases[0].Outcomes {
			t.Logf("| %s | %s, %s | %.2f %% ± %.2f | %.1f %% | %+.2f %% | %.2f %% |", name, o.Order, o.Drift.Model, 100*o.Alarms.Value, 100*o.Alarms.SE,
				100*o.Differing.Found.Value, 100*o.Differing.Bias.Value, 100*o.Differing.Coverage.Value)
			if o.Order == Drawn && float64(o.Alarms.Value) > 0.05+4*float64(o.Alarms.SE) {
				t.Errorf("%s: false alarms %v ± %v, alpha is 0.05", name, o.Alarms.Value, o.Alarms.SE)
			}
		}
	}
}
