package trace

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestPrepareDropsAndCounts(t *testing.T) {
	nan := math.NaN()
	level := func(n int) []float64 { return slices.Repeat([]float64{1, 1.01, 0.99}, n/3) }
	tests := []struct {
		name   string
		signal Signal
		time   []float64
		want   Dropped
	}{
		{"empty cells", Signal{Time: []float64{0, 1, nan, 3}, Value: []float64{1, nan, 1, 2}}, []float64{0, 3}, Dropped{Empty: 2}},
		{"a stamp that jumps forward costs one row", Signal{Time: []float64{0, 1, 99, 2, 3, 4}, Value: []float64{1, 1, 1, 1, 1, 1}},
			[]float64{0, 1, 2, 3, 4}, Dropped{Stamps: 1}},
		{"a stamp that jumps back", Signal{Time: []float64{0, 1, 2, 1.5, 3, 4}, Value: []float64{1, 1, 1, 1, 1, 1}},
			[]float64{0, 1, 1.5, 3, 4}, Dropped{Stamps: 1}},
		{"the first of duplicates stays", Signal{Time: []float64{0, 1, 1, 2}, Value: []float64{1, 2, 3, 4}}, []float64{0, 1, 2}, Dropped{Stamps: 1}},
		{"delay", Signal{Time: []float64{0, 1, 2}, Value: []float64{1, 2, 3}, Delay: 0.5}, []float64{-0.5, 0.5, 1.5}, Dropped{}},
	}
	for _, test := range tests {
		got := Prepare(test.signal)
		if diff := cmp.Diff(test.time, got.Time); diff != "" {
			t.Errorf("%s: time (-want +got)\n%s", test.name, diff)
		}
		if got.Dropped != test.want {
			t.Errorf("%s: dropped %+v, want %+v", test.name, got.Dropped, test.want)
		}
	}
	dropouts := level(90)
	for _, i := range []int{5, 12, 13, 20, 21, 22} {
		dropouts[i] = 0
	}
	dropouts[26] = 1e9 // widens the range until it is gone
	got := Prepare(Signal{Time: even(90), Value: dropouts})
	if got.Dropped.Dropouts != 7 || slices.Min(got.Value) < .9 || slices.Max(got.Value) > 1.1 {
		t.Errorf("dropouts: %d dropped of 7, values %v", got.Dropped.Dropouts, got.Value)
	}
	if v := Prepare(Signal{Time: even(24), Value: append(level(12), 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1)}); v.Dropped.Dropouts != 0 {
		t.Errorf("four values in a row are no dropout, %d dropped", v.Dropped.Dropouts)
	}
}

func even(n int) []float64 {
	t := make([]float64, n)
	for i := range t {
		t[i] = float64(i)
	}
	return t
}

// TestRoundedStamps: a clock of 1.5 kHz whose stamps are whole milliseconds goes back on
// its line; stamps that are merely even, or miss a row, stay.
func TestRoundedStamps(t *testing.T) {
	n := 300
	rounded, missing := make([]float64, n), make([]float64, n)
	for i := range n {
		rounded[i] = math.Floor(float64(i)/1.5) / 1000
		missing[i] = float64(i) / 1000
		if i >= 150 {
			missing[i] += .001
		}
	}
	got := Prepare(Signal{Time: rounded, Value: even(n)})
	if len(got.Time) != n || got.Dropped.Stamps != 0 {
		t.Fatalf("%d of %d rounded stamps kept", len(got.Time), n)
	}
	for i := 1; i < n; i++ {
		if d := got.Time[i] - got.Time[i-1]; math.Abs(d-1/1500.) > 1e-6 {
			t.Fatalf("interval %d is %.7g s, want %.7g", i, d, 1/1500.)
		}
	}
	if got := Prepare(Signal{Time: missing, Value: even(n)}); !slices.Equal(got.Time, missing) {
		t.Error("stamps of a log that misses a row were moved")
	}
}

func TestQuantum(t *testing.T) {
	values := make([]float64, 300)
	for i := range values {
		values[i] = 0.25 * math.Round(20*math.Sin(float64(i)))
	}
	if q := Prepare(Signal{Time: even(300), Value: values}).Quantum; math.Abs(q-.25) > 1e-12 {
		t.Errorf("quantum %v, want 0.25", q)
	}
	for i := range values {
		values[i] = math.Sin(float64(i))
	}
	if q := Prepare(Signal{Time: even(300), Value: values}).Quantum; q != 0 {
		t.Errorf("quantum %v of a signal without one", q)
	}
}

// TestRefusals: each fault of a log is refused with its own reason.
func TestRefusals(t *testing.T) {
	b := bench{f: lag, rate: 1000, before: .3, after: 1.2, noise: .001}
	with := func(change func(b *bench)) bench { b := b; change(&b); return b }
	cut := func(from, to float64) func(s, c *Trace) {
		return func(s, c *Trace) {
			keep := make([]bool, len(s.Time))
			for i, x := range s.Time {
				keep[i] = x < from || x > to
			}
			s.retain(keep)
		}
	}
	tests := []struct {
		name string
		b    bench
		edit func(s, c *Trace)
		d    Definition
		want string
	}{
		{"no step", with(func(b *bench) { b.f = func(float64) float64 { return 1 } }), nil, lagTransition, "no step"},
		{"nothing falls", b, nil, Definition{What: Transition, From: Share(.1), To: Share(.9), Falling: true}, "nothing falls"},
		{"step in the noise", with(func(b *bench) { b.noise = .3 }), nil, lagTransition, "times the noise"},
		{"truncated", with(func(b *bench) { b.after = .25 }), nil, lagTransition, "ms longer"},
		{"sampled too slowly", with(func(b *bench) { b.rate = 50 }), nil, lagTransition, "sample faster"},
		{"gap in the edge", b, cut(.02, .06), lagTransition, "gap"},
		{"nothing before", b, cut(-1, -.002), lagTransition, "before the step"},
		{"saturated", b, func(s, c *Trace) {
			for i, v := range s.Value {
				s.Value[i] = min(v, .98)
			}
		}, lagTransition, "saturated"},
		{"narrow band", with(func(b *bench) { b.noise = .02 }), nil, Definition{What: Settling, Within: .02}, "band"},
		{"value outside the step", b, nil, Definition{What: Transition, From: Level(.5), To: Level(2)}, "does not pass"},
		{"short hold", b, nil, Definition{What: Highest, Hold: .002}, "rows in the hold"},
		{"hold longer than the log", b, nil, Definition{What: Highest, Hold: 9}, "shorter than the hold"},
		{"gap in an integral", b, cut(.5, .6), Definition{What: Integral}, "gap"},
		{"range not covered", b, nil, Definition{What: Gradient, Low: 0, High: 9}, "tenths of the range"},
		{"value not reached", b, nil, Definition{What: Reading, At: 9}, "sweep has 0 rows"},
	}
	for _, test := range tests {
		s, c := test.b.log(newRand(3))
		if test.edit != nil {
			test.edit(s, c)
		}
		v := mustMeasure(test.d, Run{Of: s, Command: c, Over: s})
		if !strings.Contains(v.Refused, test.want) || !math.IsNaN(v.Value) {
			t.Errorf("%s: value %v, refused %q, want a reason with %q", test.name, v.Value, v.Refused, test.want)
		}
	}
	if v := mustMeasure(lagTransition, Run{Of: Prepare(Signal{})}); v.Refused == "" {
		t.Error("an empty log was measured")
	}
}

// TestStandstill: a motor at rest reads exactly 0, which is no saturation.
func TestStandstill(t *testing.T) {
	s, c := bench{f: lag, rate: 1000, before: .3, after: 1.2, noise: .001}.log(newRand(5))
	for i := range s.Value {
		if s.Time[i] < 0 {
			s.Value[i] = 0
		}
	}
	if v := mustMeasure(lagTransition, Run{Of: s, Command: c}); v.Refused != "" {
		t.Errorf("refused: %s", v.Refused)
	}
}

// TestSeveralSteps: three steps in one log, of which the last is cut off, with and without
// the command; falling edges are measured as well as rising ones.
func TestSeveralSteps(t *testing.T) {
	course := func(t float64) float64 {
		var v float64
		for k := range 3 {
			v += lag(t-2*float64(k)) - lag(t-2*float64(k)-1)
		}
		return v
	}
	command := func(t float64) float64 {
		if t >= 0 && math.Mod(t, 2) < 1 {
			return 1
		}
		return 0
	}
	s, c := sampled(course, 1000, .5, 4.15), sampled(command, 1000, .5, 4.15)
	for i, n := 0, newRand(7); i < len(s.Value); i++ {
		s.Value[i] += .001 * n.NormFloat64()
	}
	T := math.Log(9) * tau
	for _, command := range []*Trace{c, nil} {
		for _, falling := range []bool{false, true} {
			v := mustMeasure(Definition{What: Transition, From: Share(.1), To: Share(.9), Falling: falling}, Run{Of: s, Command: command})
			if falling && (v.Refused != "" || v.Steps != 2 || math.Abs(v.Value-T) > 4*v.Uncertainty || !(v.Spread > 0)) {
				t.Errorf("falling, command %v: %+v, want the mean of 2 near %.5g", command != nil, v, T)
			}
			if !falling && (v.Steps != 2 || math.Abs(v.Value-T) > 4*v.Uncertainty || len(v.Notes) != 1 || !strings.Contains(v.Notes[0], "ms longer")) {
				t.Errorf("rising, command %v: %+v, want the mean of 2 near %.5g and a note on the third", command != nil, v, T)
			}
		}
	}
}

func TestDefinitionFaults(t *testing.T) {
	of := sampled(lag, 1000, .3, 1)
	for _, d := range []Definition{
		{What: Transition}, {What: Transition, From: Share(.1), To: Share(1.5)}, {What: Transition, From: Level(2), To: Level(2)},
		{What: Delay, To: Share(.5)}, {What: Settling}, {What: Slope}, {What: Highest}, {What: Reading}, {What: Gradient}, {What: What(99)},
	} {
		if _, err := Measure(d, Run{Of: of}); err == nil {
			t.Errorf("%+v: no error", d)
		}
	}
	if _, err := Measure(Definition{What: Steady}, Run{}); err == nil {
		t.Error("a run without a signal: no error")
	}
}

func TestZeroed(t *testing.T) {
	s, c := bench{f: func(t float64) float64 { return 4 + lag(t) }, rate: 1000, before: .3, after: 1.2, noise: .01}.log(newRand(11))
	z, err := s.Zeroed(c.CommandEdges()[0].Time)
	if err != nil {
		t.Fatal(err)
	}
	before, after := mustMeasure(Definition{What: Steady}, Run{Of: s, Command: c}), mustMeasure(Definition{What: Steady}, Run{Of: z, Command: c})
	if math.Abs(after.Value-1) > 4*after.Uncertainty || !(after.Uncertainty > before.Uncertainty) {
		t.Errorf("steady mean %v ± %v, want 1 with more than %v", after.Value, after.Uncertainty, before.Uncertainty)
	}
	if _, err := s.Zeroed(-1); err == nil {
		t.Error("a zero without rows: no error")
	}
}
