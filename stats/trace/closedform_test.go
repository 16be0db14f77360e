package trace

import (
	"math"
	"testing"
)

// sampled is a course at so many rows a second from −before to after, without noise.
func sampled(f func(t float64) float64, rate, before, after float64) *Trace {
	var s Signal
	for i := range int((before + after) * rate) {
		t := float64(i)/rate - before
		s.Time, s.Value = append(s.Time, t), append(s.Value, f(t))
	}
	return Prepare(s)
}

func onOff(t float64) float64 {
	if t >= 0 {
		return 1
	}
	return 0
}

// TestClosedForms measures courses whose measures are known by formula.
func TestClosedForms(t *testing.T) {
	tests := []struct {
		name      string
		f         func(t float64) float64
		d         Definition
		want      float64
		tolerance float64 // relative
	}{
		{"10–90 % of a lag is ln 9 time constants", lag, lagTransition, math.Log(9) * tau, 5e-4},
		{"20–80 % of a lag is ln 4 time constants", lag,
			Definition{What: Transition, From: Share(.2), To: Share(.8)}, math.Log(4) * tau, 5e-4},
		{"a lag between two values", func(t float64) float64 { return 100 + 50*lag(t) },
			Definition{What: Transition, From: Level(110), To: Level(140)}, math.Log(4) * tau, 5e-4},
		{"a falling lag", func(t float64) float64 { return 7 - 3*lag(t) },
			Definition{What: Transition, From: Share(.1), To: Share(.9), Falling: true}, math.Log(9) * tau, 5e-4},
		{"a lag reaches half after ln 2 time constants", lag, Definition{What: Delay, To: Share(.5)}, math.Log(2)*tau + 0.5/5000, 5e-4},
		{"a lag enters 2 % after ln 50 time constants", lag, Definition{What: Settling, Within: .02}, math.Log(25) * tau, 1e-3},
		{"overshoot of ζ .5 is exp(−πζ/√(1−ζ²))", secondOrder(natural, damping), Definition{What: Overshoot},
			math.Exp(-math.Pi * damping / math.Sqrt(1-damping*damping)), 5e-3},
		{"overshoot of ζ .3", secondOrder(natural, .3), Definition{What: Overshoot},
			math.Exp(-math.Pi * .3 / math.Sqrt(1-.09)), 1e-2},
		{"the steepest line of a lag", lag, Definition{What: Slope, Window: .01}, lagSlope(.01), 2e-2},
		{"the level after", func(t float64) float64 { return 2 + 3*lag(t) }, Definition{What: Steady}, 5, 1e-6},
		{"the highest mean of a triangle", func(t float64) float64 { return 1 - math.Abs(t-.4) }, Definition{What: Highest, Hold: .2}, .95, 2e-3},
		{"the integral of a line", func(t float64) float64 { return 3 + 2*t }, Definition{What: Integral},
			3*(1.5-.0002) + (1.2-.0002)*(1.2-.0002) - .09, 1e-9},
		{"the change of a parabola", func(t float64) float64 { return 1 + t*t }, Definition{What: Change},
			(1.2-.0002)*(1.2-.0002) - .09, 1e-9},
	}
	for _, test := range tests {
		run := Run{Of: sampled(test.f, 5000, 0.3, 1.2), Command: sampled(onOff, 5000, 0.3, 1.2)}
		v, err := Measure(test.d, run)
		if err != nil || v.Refused != "" {
			t.Errorf("%s: %v %s", test.name, err, v.Refused)
			continue
		}
		if e := math.Abs(v.Value/test.want - 1); !(e <= test.tolerance) {
			t.Errorf("%s: %.7g, want %.7g (relative error %.2g)", test.name, v.Value, test.want, e)
		}
	}
}

// lagSlope is the slope of the least-squares line of a lag over its first w seconds,
// 12/w³ ∫(t − w/2)(1 − exp(−t/τ))dt over 0..w.
func lagSlope(w float64) float64 {
	e := math.Exp(-w / tau)
	return 12 / (w * w * w) * (tau*w*e + w/2*tau*(1-e) - tau*tau*(1-e))
}
