package rehearse

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design"
)

// adjusted names covariates in a plan.
func adjusted(plan, names string) string {
	return strings.Replace(plan, "[analysis]", "[analysis]\ncovariates = ["+names+"]", 1)
}

// warming is a bench on which nothing but heat drifts, of a plan that takes out no drift.
const warming = "[drift]\nmodel = \"none\"\n[simulation]\nheat = \"120 K\"\nsag = \"0%\"\ndrop = \"0%\"\npack_scatter = \"0%\"\nfailures = \"0%\"\noutliers = \"0%\"\n"

// outcome is the one of an order under an analysis with so many covariates.
func outcome(t *testing.T, r *Rehearsal, order string, covariates int) Outcome {
	t.Helper()
	for _, o := range r.Cases[0].Outcomes {
		if o.Order == order && len(o.Adjusted) == covariates {
			return o
		}
	}
	t.Fatalf("no %s order with %d covariates", order, covariates)
	return Outcome{}
}

// Where nothing but the winding's temperature drifts, noting it before each run takes the drift out: random order
// then finds about what it would on a bench without any, and keeps its promise.
func TestNotedTemperatureTakesHeatOut(t *testing.T) {
	t.Parallel()
	const n = 2000
	r := rehearsed(t, adjusted(sixty, `"start_temp"`)+warming, n)
	still := rehearsed(t, strings.Replace(sixty+warming, "120 K", "0 K", 1), n)
	plain, noted := outcome(t, r, Random, 0), outcome(t, r, Random, 1)
	within(t, "false alarms", noted.Alarms, n, 0.05)
	without := float64(outcome(t, still, Random, 0).Differing.Found.Value)
	if got := float64(noted.Differing.Found.Value); got < without-0.05 {
		t.Errorf("adjusted for the temperature %.3f find the difference, %.3f without heat", got, without)
	}
	if got := float64(plain.Differing.Found.Value); got > without/2 {
		t.Errorf("not adjusted %.3f find the difference, want less than half of %.3f", got, without)
	}
	if len(r.Unrelated) > 0 {
		t.Errorf("unrelated %v, want none", r.Unrelated)
	}
}

// A check of the plan's own is noise on the bench: it costs a degree of freedom and gains nothing, and the runs are
// those of the plan without it.
func TestOwnCheckIsNoise(t *testing.T) {
	t.Parallel()
	const n = 2000
	plan := strings.Replace(sixty, "[analysis]", "[drift]\nmodel = \"none\"\n[analysis]", 1) + humidity
	without, with := rehearsed(t, plan, n), rehearsed(t, adjusted(plan, `"humidity"`), n)
	if diff := cmp.Diff([]string{"humidity"}, with.Unrelated); diff != "" {
		t.Errorf("unrelated (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(outcome(t, without, Random, 0), outcome(t, with, Random, 0)); diff != "" {
		t.Errorf("the check changes what is not adjusted for it:\n%s", diff)
	}
	before, after := outcome(t, without, Drawn, 0), outcome(t, with, Drawn, 1)
	within(t, "false alarms", after.Alarms, n, 0.05)
	if before.Failed != after.Failed {
		t.Errorf("%v failed runs a campaign with the check, %v without", after.Failed, before.Failed)
	}
	if cmp.Equal(before.Nothing, after.Nothing) {
		t.Error("adjusting for the check changes no word")
	}
}

// What is noted is what the instruments show.
func TestNotedValues(t *testing.T) {
	t.Parallel()
	plan := adjusted(sixty, `"start_volts", "start_temp"`) + "[simulation]\npack_scatter = \"0%\"\nsag = \"30%\"\nused = \"50%\"\n"
	e, err := newEngine(read(t, plan), 1)
	if err != nil {
		t.Fatal(err)
	}
	w := newWorker(e)
	w.world(w, w.first, w.besides)
	for s := range w.slots() {
		// 15 runs take half of the charge, and with it half of 30 % of the voltage: a hundredth a run.
		if got, want := w.noted[0][s], 1-0.01*float64(s%15); math.Abs(got-want) > 1e-12 {
			t.Errorf("run %d starts at %v of a full pack's voltage, want %v", s+1, got, want)
		}
		if x := 10 * w.noted[1][s]; math.Abs(x-math.Round(x)) > 1e-9 {
			t.Errorf("run %d starts at %v °C, which no instrument that shows tenths does", s+1, w.noted[1][s])
		}
	}
	if w.noted[1][0] != 20 || w.noted[1][14] < 22 {
		t.Errorf("the first block starts at %v °C and its last run at %v °C, want 20 °C and more", w.noted[1][0], w.noted[1][14])
	}
}

// The plan's own analysis stands beside the one that takes out nothing.
func TestAnalysesOfAPlanWithCovariates(t *testing.T) {
	t.Parallel()
	r := rehearsed(t, adjusted(sixty, `"start_temp"`)+warming, 2)
	var got []string
	for _, o := range r.Cases[0].Outcomes {
		got = append(got, o.Order+" "+o.Drift.Model+" "+strings.Join(o.Adjusted, ","))
	}
	want := []string{
		"drawn none start_temp",
		"sorted none ", "sorted none start_temp",
		"random none ", "random none start_temp",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("analyses (-want +got):\n%s", diff)
	}
	if r.Drift.Model != design.DriftNone {
		t.Errorf("drift %v", r.Drift)
	}
}
