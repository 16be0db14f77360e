package rehearse

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/stats/compare"
	"fairrun/stats/judge"
)

// three is a plan of two levels with a look after each of three packs, and so many runs that the noise is well known.
const three = `title = "Pod thruster"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 8]
[block]
name = "pack"
count = 3
random = false
replicates = 30
[drift]
model = "none"
[[response]]
name = "hum"
better = "lower"
noise = "1%"
[analysis]
looks = 3
` + quiet

// Three looks at 5 % each have a false alarm in 10.7 % of campaigns (Armitage, McPherson & Rowe 1969, table 2: known
// noise, equal steps); at the levels planned, in 5 %.
func TestLooksKeepAlpha(t *testing.T) {
	t.Parallel()
	const n = 3000
	for _, spending := range []string{"obrien-fleming", "pocock"} {
		r := rehearsed(t, strings.Replace(three, "looks = 3", "looks = 3\nspending = \""+spending+"\"", 1), n)
		if diff := cmp.Diff([]int{1, 2, 3}, r.Looks.Blocks); diff != "" {
			t.Errorf("looks (-want +got):\n%s", diff)
		}
		if l := r.Looks; l.Of != 3 || l.Done.Known() || l.Fraction.Known() || l.Level.Known() || !(l.Inflation > 1) {
			t.Errorf("looks %+v: want 3, none of them taken, and what they cost", l)
		}
		for _, o := range r.Cases[0].Outcomes {
			within(t, spending+", "+o.Order+": false alarms", o.Alarms, n, 0.05)
			within(t, spending+", "+o.Order+": false alarms at 5 % a look", o.Looks.Plain, n, 0.107)
			if o.Looks.Differing.Value.Known() {
				t.Errorf("%v packs until a difference is settled that there is none of", o.Looks.Differing.Value)
			}
		}
	}
}

// What is settled stays so: a difference of fifty times the noise is settled at the first look and its word counted
// once; one that is never settled takes all packs.
func TestSettledAtALook(t *testing.T) {
	t.Parallel()
	const n = 100
	plan := strings.Replace(three, "noise = \"1%\"", "noise = \"1%\"\nmargin = \"50%\"", 1)
	o := rehearsed(t, plan, n).Cases[0].Outcomes[0]
	if l := o.Looks; l.Differing.Value != 1 || l.Differing.SE != 0 || l.Nothing.Value != 1 {
		t.Errorf("settled after %v packs, and when nothing differs after %v; want the first", l.Differing.Value, l.Nothing.Value)
	}
	if o.Nothing.Equal.Value != 1 || o.Differing.Found.Value != 1 {
		t.Errorf("equal in %v, found in %v; want all", o.Nothing.Equal.Value, o.Differing.Found.Value)
	}
	open := strings.Replace(strings.Replace(three, "noise = \"1%\"", "noise = \"30%\"\nmargin = \"0.1%\"", 1), "looks = 3", "looks = 3\nalpha = 0.0001\npower = 0.5", 1)
	if l := rehearsed(t, open, n).Cases[0].Outcomes[0].Looks; l.Differing.Value != 3 || l.Nothing.Value != 3 {
		t.Errorf("settled after %v packs, and when nothing differs after %v; want never", l.Differing.Value, l.Nothing.Value)
	}
}

// A plan with one look has none of this.
func TestOneLookIsTheEnd(t *testing.T) {
	t.Parallel()
	r := rehearsed(t, strings.Replace(three, "looks = 3", "looks = 1", 1), 10)
	if r.Looks != nil {
		t.Errorf("looks %+v, want none", r.Looks)
	}
	if o := r.Cases[0].Outcomes[0]; o.Looks != nil {
		t.Errorf("looks %+v of a plan with one", o.Looks)
	}
	if s := r.Cases[0].Sentence; strings.Contains(s, "Looks") {
		t.Errorf("sentence %q", s)
	}
}

func TestMean(t *testing.T) {
	t.Parallel()
	var m mean
	for _, x := range []int{1, 2, 3, 6} {
		m.take(x)
	}
	// Mean 3, squares 50: variance (50 − 36)/3 = 14/3, of the mean 14/12.
	if got := m.rate(); got.Value != 3 || math.Abs(float64(got.SE)-math.Sqrt(14.0/12)) > 1e-14 {
		t.Errorf("mean of 1, 2, 3, 6 is %v ± %v, want 3 ± %v", got.Value, got.SE, math.Sqrt(14.0/12))
	}
}

// Two specimens with looks: every campaign has an interval, however few its degrees of freedom, and the sentence compares like with like.
func TestTwoUnitsWithLooksHaveIntervals(t *testing.T) {
	t.Parallel()
	r := rehearsed(t, `title = "Controllers"
scope = "pod thruster"
seed = 3
[specimens]
name = "motor"
count = 2
[[factor]]
name = "controller"
levels = ["A", "B"]
[block]
name = "pack"
count = 4
replicates = 2
[drift]
model = "linear"
[[response]]
name = "thrust"
unit = "N"
better = "higher"
margin = "2%"
noise = "1%"
[analysis]
looks = 2
`, 100)
	for _, o := range r.Cases[0].Outcomes {
		if f := o.Differing; f.Without.Value > 0.01 || o.Order == Drawn && f.Coverage.Value < 0.97 {
			t.Errorf("%s analysed with %s drift: without an interval %v, covered %v", o.Order, o.Drift.Model, f.Without.Value, f.Coverage.Value)
		}
	}
	for _, want := range []string{"in sorted order analysed without drift,", "in plain random order analysed without drift, in ", " analysed with linear drift, and in ", "in an order drawn for this plan and analysed so"} {
		if s := r.Cases[0].Sentence; !strings.Contains(s, want) {
			t.Errorf("sentence %q does not say %q", s, want)
		}
	}
}

// Campaigns without an interval are counted apart: they neither cover the truth nor miss it.
func TestCampaignsWithoutIntervalCountApart(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	var c caseTally
	for _, i := range []judge.Interval{{Estimate: 1, Low: 0, High: 2}, {Estimate: 1, Low: nan, High: nan}, judge.Unknown} {
		of := &history{}
		i.Word = compare.Unresolved
		of.differing.Interval, of.nothing.Interval = i, i
		c.count(of, 1)
	}
	if c.judged != 2 || c.bounded != 1 || c.covered != 1 {
		t.Errorf("judged %d, with an interval %d, covered %d; want 2, 1, 1", c.judged, c.bounded, c.covered)
	}
}
