package rehearse

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fairrun/design"
	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/stats/verdict"
)

func rehearsed(t *testing.T, plan string, campaigns int) *Rehearsal {
	t.Helper()
	r, err := Rehearse(t.Context(), read(t, plan), Options{Campaigns: campaigns, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// sameNumber compares numbers, of which two that are unknown are the same.
var sameNumber = cmp.Comparer(func(a, b verdict.Number) bool {
	return a == b || math.IsNaN(float64(a)) && math.IsNaN(float64(b))
})

func TestFiguresDoNotDependOnProcessors(t *testing.T) {
	plan := sixty + responses
	for name, c := range map[string]struct {
		plan      string
		campaigns int
	}{
		"responses":            {plan, 330},
		"looks and covariates": {strings.Replace(adjusted(sixty, `"start_temp", "humidity"`), "[analysis]", "[analysis]\nlooks = 3", 1) + humidity, 330},
		"looks and specimens":  {strings.Replace(strings.Replace(sixty, "[block]", "[specimens]\ncount = 2\n[block]", 1), "[analysis]", "[analysis]\nlooks = 2", 1), 60},
	} {
		t.Run(name, func(t *testing.T) {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
			one := rehearsed(t, c.plan, c.campaigns)
			for _, n := range []int{2, 7} {
				runtime.GOMAXPROCS(n)
				if diff := cmp.Diff(one, rehearsed(t, c.plan, c.campaigns), sameNumber); diff != "" {
					t.Errorf("with %d processors:\n%s", n, diff)
				}
			}
		})
	}
	one := rehearsed(t, plan, 330)
	other, err := Rehearse(t.Context(), read(t, plan), Options{Campaigns: 330, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	if cmp.Equal(one.Cases, other.Cases) {
		t.Error("another seed gives the same figures")
	}
}

func TestProgressCountsAllCampaigns(t *testing.T) {
	t.Parallel()
	last, calls := 0, 0
	_, err := Rehearse(t.Context(), read(t, sixty), Options{Campaigns: 120, Progress: func(done int) {
		if done <= last {
			t.Errorf("progress went from %d to %d", last, done)
		}
		last = done
		calls++
	}})
	if err != nil || last != 120 || calls != 3 {
		t.Errorf("progress ended at %d after %d calls, error %v; want 120 after 3", last, calls, err)
	}
}

// Progress may call anything, since it is called on the goroutine that rehearses and with no lock held.
func TestProgressMayRehearse(t *testing.T) {
	t.Parallel()
	plan, calls := read(t, sixty), 0
	_, err := Rehearse(t.Context(), plan, Options{Campaigns: 150, Progress: func(int) {
		if _, err := Rehearse(t.Context(), plan, Options{Campaigns: 50}); err != nil {
			t.Error(err)
		}
		calls++
	}})
	if err != nil || calls != 3 {
		t.Errorf("%d calls, error %v; want 3", calls, err)
	}
}

// A rehearsal that is called off ends within 100 ms, also one by REML. A busy machine has three tries.
func TestRehearseStops(t *testing.T) {
	specimens := strings.Replace(sixty+responses, "[block]", "[specimens]\nname = \"motor\"\ncount = 2\n[block]", 1)
	for name, plan := range map[string]string{"least squares": sixty, "REML": specimens} {
		var took time.Duration
		for range 3 {
			ctx, cancel := context.WithCancel(t.Context())
			var called time.Time
			_, err := Rehearse(ctx, read(t, plan), Options{Campaigns: 1_000_000, Progress: func(int) {
				if called.IsZero() {
					called = time.Now()
					cancel()
				}
			}})
			if !errors.Is(err, context.Canceled) {
				t.Fatalf("%s: error %v, want that of the context", name, err)
			}
			if took = time.Since(called); took < 100*time.Millisecond {
				break
			}
		}
		if took >= 100*time.Millisecond {
			t.Errorf("%s: it went on for %v", name, took)
		}
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Rehearse(ended, read(t, sixty), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("called off before: error %v", err)
	}
}

const quiet = `
[simulation]
heat = "0 K"
sag = "0%"
drop = "0%"
pack_scatter = "0%"
failures = "0%"
outliers = "0%"
`

// within fails unless a rate in n campaigns lies within five Monte-Carlo standard errors of a chance.
func within(t *testing.T, what string, r Rate, n int, chance float64) {
	t.Helper()
	se := math.Sqrt(chance * (1 - chance) / float64(n))
	if math.Abs(float64(r.Value)-chance) > 5*se {
		t.Errorf("%s: %.4f in %d campaigns, want %.4f ± %.4f", what, float64(r.Value), n, chance, se)
	}
}

// On a bench without heat and sag every order keeps its promise: false alarms at alpha, coverage of one
// interval of Tukey's ten at P(|t₄₀| ≤ q/√2).
func TestAllOrdersAreHonestWithoutDrift(t *testing.T) {
	t.Parallel()
	const n = 4000
	plan := strings.Replace(sixty, "[analysis]", "[drift]\nmodel = \"none\"\n[analysis]", 1) + quiet
	r := rehearsed(t, plan, n)
	// q(0.95; 5 groups, 52 df) = 3.9962; P(|t₅₂| ≤ q/√2 = 2.8257) = 0.99332: R 4.4 ptukey/qtukey, pt, quoted to five figures.
	const alone = 0.99332
	orders := r.Cases[0].Outcomes
	if len(orders) != 3 {
		t.Fatalf("%d orders, want 3", len(orders))
	}
	for _, o := range orders {
		within(t, o.Order+": false alarms", o.Alarms, n, 0.05)
		within(t, o.Order+": coverage", o.Differing.Coverage, n, alone)
		if b := o.Differing.Bias; math.Abs(float64(b.Value)) > 5*float64(b.SE) {
			t.Errorf("%s: bias %v ± %v, want none", o.Order, b.Value, b.SE)
		}
	}
}

// On a bench that drifts hard sorted order is wrong nearly always, and the order drawn is not.
func TestSortedOrderIsWrongUnderDrift(t *testing.T) {
	t.Parallel()
	const n = 1000
	r := rehearsed(t, sixty+"[simulation]\nheat = \"80 K\"\nsag = \"30%\"\n", n)
	for _, o := range r.Cases[0].Outcomes {
		switch {
		case o.Order == Sorted && o.Drift.Model == design.DriftNone:
			if o.Alarms.Value < 0.99 || o.Differing.Coverage.Value > 0.01 {
				t.Errorf("sorted without drift: false alarms %v, coverage %v; want nearly all and nearly none", o.Alarms.Value, o.Differing.Coverage.Value)
			}
			// The level that runs last takes the bench at its worst: slower by far more than the margin of 2 %.
			if o.Differing.Bias.Value < 0.05 {
				t.Errorf("sorted without drift: bias %v, want above 0.05", o.Differing.Bias.Value)
			}
		case o.Order == Drawn:
			if o.Alarms.Value > 0.07 || o.Differing.Coverage.Value < 0.98 {
				t.Errorf("drawn: false alarms %v, coverage %v", o.Alarms.Value, o.Differing.Coverage.Value)
			}
		}
	}
	if want := "in sorted order"; !strings.Contains(r.Cases[0].Sentence, want) {
		t.Errorf("sentence %q does not say %q", r.Cases[0].Sentence, want)
	}
}

// One run of each level a block, sorted: a line through the block is a line through the levels.
func TestSortedOrderCannotTellDriftFromSettings(t *testing.T) {
	t.Parallel()
	r := rehearsed(t, strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 8\nreplicates = 1", 1), 20)
	found := false
	for _, o := range r.Cases[0].Outcomes {
		if o.Order == Sorted && o.Drift.Model == design.DriftLinear {
			found = true
			if o.Problem == "" || o.Alarms.Value.Known() || o.Differing.Coverage.Value.Known() {
				t.Errorf("sorted with a line: %+v, want a problem and no figures", o)
			}
		}
	}
	if !found {
		t.Error("the order is not listed")
	}
}

// Every word is counted, and no margin means that there is no difference to find.
func TestRatesAddUp(t *testing.T) {
	t.Parallel()
	sum := func(w WordRates) float64 {
		return float64(w.Matters.Value + w.Real.Value + w.Trivial.Value + w.Equal.Value + w.Unresolved.Value)
	}
	r := rehearsed(t, sixty+responses+"[[response]]\nname = \"hum\"\nbetter = \"lower\"\n", 200)
	for _, c := range r.Cases {
		for _, o := range c.Outcomes {
			near(t, c.Response+": words when nothing differs", sum(o.Nothing), 1)
			if c.Response == "hum" {
				if o.Differing != nil {
					t.Errorf("hum has no margin, yet %+v", o.Differing)
				}
				continue
			}
			near(t, c.Response+": words when one level differs", sum(o.Differing.WordRates), 1)
			if o.Differing.Found.Value > o.Differing.Matters.Value+o.Differing.Real.Value+o.Differing.Trivial.Value+1e-12 {
				t.Errorf("%s: found %v exceeds the words that claim a difference", c.Response, o.Differing.Found.Value)
			}
		}
	}
}

// Failures are left out of the means and counted: 60 runs at 20 %, 12 a campaign.
func TestFailuresAreCounted(t *testing.T) {
	t.Parallel()
	const n = 400
	r := rehearsed(t, sixty+"[simulation]\nfailures = \"20%\"\n", n)
	for _, o := range r.Cases[0].Outcomes {
		// Variance of a campaign's failures 60·0.2·0.8 = 9.6; five standard errors.
		if math.Abs(o.Failed-12) > 5*math.Sqrt(9.6/n) {
			t.Errorf("%s: %v failed runs a campaign, want 12", o.Order, o.Failed)
		}
		if o.Alarms.Value > 0.3 && o.Order == Drawn {
			t.Errorf("failures raise false alarms to %v", o.Alarms.Value)
		}
	}
}

// A level that draws more current leaves heat and an emptier pack to the runs after it, but what it meets
// itself is what any other would: on a bench that takes its current without a trace nothing differs.
func TestLoadOfOwnRunIsNoDifference(t *testing.T) {
	t.Parallel()
	const n = 2000
	bench := strings.Replace(quiet, "drop = \"0%\"", "drop = \"10%\"", 1) + "[simulation.current]\nweakening = [1, 1.1, 1.2, 1.3, 1.4]\n"
	for _, o := range rehearsed(t, sixty+bench, n).Cases[0].Outcomes {
		if o.Order == Drawn {
			within(t, "false alarms", o.Alarms, n, 0.05)
		}
	}
	hot := strings.Replace(bench, "heat = \"0 K\"", "heat = \"200 K\"", 1)
	for _, o := range rehearsed(t, sixty+hot, n).Cases[0].Outcomes {
		if o.Order == Sorted && o.Drift.Model == design.DriftNone && o.Alarms.Value < 0.5 {
			t.Errorf("sorted on a bench that each level heats more: false alarms %v, want most", o.Alarms.Value)
		}
	}
}

// Warm-up and reference runs keep their places in sorted and random order, and the drawn runs are those
// of the order drawn.
func TestArrangeKeepsTheRuns(t *testing.T) {
	t.Parallel()
	e, err := newEngine(read(t, sixty), 1)
	if err != nil {
		t.Fatal(err)
	}
	p := order.Spec{Treatments: 3, Blocks: 2, Replicates: 2, Drift: order.Linear, Warmup: 1, Reference: []int{4}, Baseline: 1}
	d, err := order.Draw(p, 9)
	if err != nil {
		t.Fatal(err)
	}
	e.drawn, e.length, e.setup.blocks = d, p.Length(), 2
	e.analysed = make([]bool, p.Length())
	w := newWorker(e)
	w.arrange(Sorted, nil)
	if got, want := fmt.Sprint(w.blocks), "[[1 0 0 1 1 1 2 2] [1 0 0 1 1 1 2 2]]"; got != want {
		t.Errorf("sorted %v, want %v", got, want)
	}
	w.arrange(Random, lot.New(1, 1<<40))
	for b, block := range w.blocks {
		count := [3]int{}
		for _, t := range block {
			count[t]++
		}
		if block[0] != 1 || block[4] != 1 || count != [3]int{2, 4, 2} {
			t.Errorf("random block %d is %v: want the baseline at 1 and 5 and two runs of each level besides", b+1, block)
		}
	}
}

func TestRateOfNoneIsNotExact(t *testing.T) {
	t.Parallel()
	// (0+1)/(98+2) = 1/100.
	got, want := rate(0, 98), Rate{0, verdict.Number(math.Sqrt(0.01 * 0.99 / 98))}
	if got.Value != 0 || math.Abs(float64(got.SE-want.SE)) > 1e-15 {
		t.Errorf("rate(0, 98) = %v, want %v", got, want)
	}
	if r := rate(3, 0); r.Value.Known() || r.SE.Known() {
		t.Errorf("rate of no campaigns is %v", r)
	}
}

func TestOutOf100(t *testing.T) {
	t.Parallel()
	for rate, want := range map[float64]string{0: "0", 0.001: "fewer than 1", 0.051: "5", 0.93: "93", 0.999: "more than 99", 1: "100"} {
		if got := outOf100(rate); got != want {
			t.Errorf("outOf100(%v) = %q, want %q", rate, got, want)
		}
	}
}
