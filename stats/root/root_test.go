package root

import (
	"math"
	"testing"
)

// Zeros that are known in closed form, from brackets either way round.
func TestBetween(t *testing.T) {
	for _, c := range []struct {
		name       string
		a, b, want float64
		f          func(x float64) float64
	}{
		{"a line", -3, 8, 2.5, func(x float64) float64 { return 2*x - 5 }},
		{"a parabola", 0, 2, math.Sqrt2, func(x float64) float64 { return x*x - 2 }},
		{"the cosine", 0, 3, math.Pi / 2, math.Cos},
		{"flat around the zero", -1, 3, 1, func(x float64) float64 { return (x - 1) * (x - 1) * (x - 1) }},
		{"far smaller than the bracket", 0, 1e6, 1e-5, func(x float64) float64 { return math.Log(x+1e-300) - math.Log(1e-5) }},
		{"a zero at the end", 4, 9, 4, func(x float64) float64 { return x - 4 }},
	} {
		for _, ends := range [][2]float64{{c.a, c.b}, {c.b, c.a}} {
			if got := Between(ends[0], ends[1], 0, c.f); math.Abs(got-c.want) > 4e-16*math.Abs(c.want) && math.Abs(c.f(got)) > 1e-44 {
				t.Errorf("%s: Between(%v, %v) = %.17g, want %.17g", c.name, ends[0], ends[1], got, c.want)
			}
		}
	}
}

// A wider tolerance is kept, and asks less of the function.
func TestBetweenWithin(t *testing.T) {
	calls := func(within float64) (n int, x float64) {
		x = Between(0, 2, within, func(x float64) float64 { n++; return math.Exp(x) - 3 })
		return n, x
	}
	exact, _ := calls(0)
	few, x := calls(1e-3)
	if few >= exact || math.Abs(x-math.Log(3)) > 1e-3 {
		t.Errorf("within 1e-3 %d calls give %v, to the last bits %d", few, x, exact)
	}
}

func TestBetweenPanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a bracket without a zero is taken")
		}
	}()
	Between(1, 2, 0, func(x float64) float64 { return x })
}
