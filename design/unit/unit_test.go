package unit

import (
	"math"
	"testing"
)

func TestIn(t *testing.T) {
	t.Parallel()
	tests := []struct {
		from, to string
		want     float64
	}{
		{"s", "ms", 1e3}, {"µs", "ms", 1e-3}, {"us", "s", 1e-6}, {"min", "s", 60}, {"h", "min", 60},
		{"gf", "mN", 9.80665}, {"kgf", "N", 9.80665}, {"lbf", "N", 4.4482216152605},
		{"mAh", "C", 3.6}, {"Wh", "kJ", 3.6}, {"V·A", "W", 1}, {"A V", "W", 1},
		{"rpm", "rad/s", math.Pi / 30}, {"rpm/V", "rad/s/V", math.Pi / 30}, {"rpm / V", "rad/s/V", math.Pi / 30},
		{"kg·m²", "g*cm^2", 1e7}, {"kg m2", "g·cm²", 1e7}, {"kg·m²/s²", "J", 1},
		{"1/min", "Hz", 1.0 / 60}, {"min^-1", "1/s", 1.0 / 60}, {"s-1", "Hz", 1},
		{"%", "", 0.01}, {"", "%", 100}, {"mΩ", "Ohm", 1e-3}, {"μs", "µs", 1}, {"°C", "K", 1},
		{"gf/W", "N/kW", 9.80665}, {"mg", "kg", 1e-6}, {"hPa", "mbar", 1}, {"km", "cm", 1e5},
	}
	for _, test := range tests {
		from, err := Parse(test.from)
		if err != nil {
			t.Error(err)
			continue
		}
		to, err := Parse(test.to)
		if err != nil {
			t.Error(err)
			continue
		}
		if got, err := from.In(to); err != nil || math.Abs(got/test.want-1) > 1e-14 {
			t.Errorf("%s in %s = %v, %v, want %v", test.from, test.to, got, err, test.want)
		}
	}
}

func TestUnlike(t *testing.T) {
	t.Parallel()
	for _, pair := range [][2]string{{"V", "A"}, {"N", "g"}, {"s", "Hz"}, {"J", "N"}, {"%", "V"}} {
		a, _ := Parse(pair[0])
		b, _ := Parse(pair[1])
		if _, err := a.In(b); err == nil {
			t.Errorf("%s became %s", pair[0], pair[1])
		}
	}
}

// The value of a torque constant times kV is 60/(2π) in the units they are given in.
func TestMotorConstants(t *testing.T) {
	t.Parallel()
	kv, _ := Parse("rpm/V")
	kt, _ := Parse("Nm/A")
	product := kv.Mul(kt)
	if !product.Pure() || math.Abs(product.Size()-2*math.Pi/60) > 1e-15 {
		t.Errorf("rpm/V times Nm/A is %v of dimension %q, want 2π/60 without one", product.Size(), product.Base())
	}
}

func TestRoot(t *testing.T) {
	t.Parallel()
	square, _ := Parse("m²/s²")
	speed, _ := Parse("m/s")
	if root, ok := square.Root(); !ok || !root.Like(speed) {
		t.Errorf("the root of m²/s² is %q, %v", root.Base(), ok)
	}
	if _, ok := speed.Root(); ok {
		t.Error("m/s has a root")
	}
}

func TestUnknown(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"furlong", "V/", "m^", "m^9", "kmin", "/s", "V//A", "3", "Pull", "²"} {
		if Known(text) {
			t.Errorf("%q is taken for a unit", text)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{"kg·m²/s²", "min^-1", "°C", "µ", "%", "²", "V * A", "⋅"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		u, err := Parse(text)
		if err != nil {
			return
		}
		if x, err := u.In(u); err != nil || x != 1 {
			t.Errorf("%q in itself is %v, %v", text, x, err)
		}
	})
}
