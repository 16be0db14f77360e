package formula

import (
	"math"
	"regexp"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fairrun/design/unit"
)

func known(text string) unit.Unit {
	u, err := unit.Parse(text)
	if err != nil {
		panic(err)
	}
	return u
}

var units = map[string]unit.Unit{
	"erpm": known("rpm"), "rpm": known("rpm"), "thrust": known("gf"), "volts": known("V"), "amps": known("A"), "temp": known("°C"), "ambient": known("°C"), "throttle": known("%"),
}

func TestEval(t *testing.T) {
	t.Parallel()
	s := &Signals{Time: []float64{0, 1, 2}, Values: map[string][]float64{
		"erpm": {7000, 14000, 21000}, "rpm": {1000, 2000, 3000}, "thrust": {100, 200, 300}, "volts": {10, 20, 0}, "amps": {1, 2, 3}, "temp": {25, 30, 40}, "ambient": {20, 20, 20}, "throttle": {50, 50, 100}}}
	for _, test := range []struct {
		text, unit string
		want       []float64
	}{
		{"erpm / 7", "rpm", []float64{1000, 2000, 3000}},
		{"volts * amps", "W", []float64{10, 40, 0}},
		{"thrust / (volts * amps)", "gf/W", []float64{10, 5, math.NaN()}},
		{"thrust / (volts * amps)", "mN/W", []float64{98.0665, 49.03325, math.NaN()}},
		{"rpm / volts", "rpm/V", []float64{100, 100, math.NaN()}},
		{"temp - ambient", "K", []float64{5, 10, 20}},
		{"throttle * volts", "V", []float64{5, 10, 0}},
		{"thrust ^ 2 / thrust", "gf", []float64{100, 200, 300}},
		{"sqrt(thrust * thrust)", "N", []float64{.980665, 1.96133, 2.941995}},
		{"-abs(-amps) + max(amps, \"2 A\")", "mA", []float64{1000, 0, 0}},
		{"integral(amps)", "mAh", []float64{0, 1.5 / 3.6, 4 / 3.6}},
		{"integral(volts * amps)", "J", []float64{0, 25, 45}},
		{"2 * amps - \"500 mA\" * 2", "A", []float64{1, 3, 5}},
	} {
		f, err := Parse(test.text, units)
		if err != nil {
			t.Errorf("%s: %v", test.text, err)
			continue
		}
		got, err := f.Eval(s, known(test.unit))
		if err != nil {
			t.Errorf("%s: %v", test.text, err)
			continue
		}
		if diff := cmp.Diff(test.want, got, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 1e-12)); diff != "" {
			t.Errorf("%s in %s (-want +got):\n%s", test.text, test.unit, diff)
		}
	}
}

// A flywheel of 1e-4 kg·m² under a constant torque of 0.02 N·m gains 200 rad/s each second.
func TestFlywheel(t *testing.T) {
	t.Parallel()
	s := &Signals{Values: map[string][]float64{}}
	for i := range 1000 {
		s.Time = append(s.Time, float64(i)/1000)
		s.Values["rpm"] = append(s.Values["rpm"], 200*float64(i)/1000*30/math.Pi)
	}
	f, err := Parse(`"1e-4 kg·m²" * rate(rpm, "20 ms")`, units)
	if err != nil {
		t.Fatal(err)
	}
	got, err := f.Eval(s, known("mNm"))
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range got {
		if inside := i >= 11 && i < 988; inside && !(math.Abs(x-20) < 1e-6) || i < 9 && !math.IsNaN(x) {
			t.Errorf("row %d: %v mNm", i, x)
		}
	}
}

func TestFaults(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"thrust + volts":                  `gf and V cannot be added`,
		"thrust + 1":                      `gf and a number without unit cannot`,
		"thrst / 2":                       `there is no signal "thrst"; did you mean "thrust"`,
		"thrust ^ amps":                   `a power is a whole number`,
		"sqrt(thrust)":                    `gf has no root`,
		"sin(throttle)":                   `there is no function sin\(\)`,
		"rate(rpm)":                       `rate\(\) takes 2, and has 1`,
		"rate(rpm, 20)":                   `rate\(\) needs its window`,
		"rate(rpm, \"20 V\")":             `rate\(\) needs its window`,
		"min(rpm, volts)":                 `rpm and V do not measure`,
		"1 + 2":                           `names no signal`,
		"thrust +":                        `at character \d+: `,
		"thrust > 3":                      `">" has no meaning`,
		"[thrust]":                        `a formula has numbers`,
		"thrust * \"3 furlong\"":          `no unit that is known`,
		"thrust * \"much\"":               `"much" is no number with a unit`,
		"not thrust":                      `"not" has no meaning`,
		"thrust.x":                        `a formula has`,
		"filter([thrust], {# > 1})[0]":    `a formula has|no function`,
		string(make([]byte, 600)) + "rpm": `500 bytes`,
	} {
		if _, err := Parse(text, units); err == nil || !regexp.MustCompile(want).MatchString(err.Error()) {
			t.Errorf("%s: got %v, want %s", text, err, want)
		}
	}
}

// Signals of different rates come to the axis of the quicker one; a delay is taken off; a gap is not
// bridged.
func TestAlign(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	s := Align([]float64{0, 1, 2, 2, 3, 4, 5}, []Column{
		{Name: "quick", Value: []float64{0, 1, 2, 9, 3, 4, 5}},
		{Name: "slow", Value: []float64{0, nan, 20, nan, nan, 40, nan}},
		{Name: "late", Value: []float64{0, 1, 2, 9, 3, 4, 5}, Delay: 0.5},
	})
	want := &Signals{Time: []float64{0, 1, 2, 3, 4, 5}, Values: map[string][]float64{
		"quick": {0, 1, 2, 3, 4, 5}, "slow": {0, 10, 20, 30, 40, nan}, "late": {.5, 1.5, 2.5, 3.5, 4.5, nan}}}
	if diff := cmp.Diff(want, s, cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	time, x := make([]float64, 100), make([]float64, 100)
	for i := range time {
		if time[i], x[i] = float64(i), 1; i > 40 && i < 60 {
			x[i] = nan
		}
	}
	full := make([]float64, 100)
	if got := Align(time, []Column{{Name: "a", Value: full}, {Name: "b", Value: x}}).Values["b"]; !math.IsNaN(got[50]) || got[30] != 1 {
		t.Errorf("over the gap: %v", got[50])
	}
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{"erpm / 7", "-thrust ^ 2", `rate(rpm, "20 ms")`, "min(1, 2)", "a ? b : c", "thrust ** -3"} {
		f.Add(text)
	}
	s := &Signals{Time: []float64{0, 1}, Values: map[string][]float64{}}
	for name := range units {
		s.Values[name] = []float64{1, 2}
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := Parse(text, units)
		if err != nil {
			return
		}
		if x, err := p.Eval(s, p.Unit.SI()); err != nil || len(x) != 2 {
			t.Errorf("%q: %v, %v", text, x, err)
		}
	})
}
