package check

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// golden is the fractional part of i·0.6180339887498949, i = 1…n, as in make.R.
func golden(n int) []float64 {
	u := make([]float64, n)
	for i := range u {
		v := float64(i+1) * 0.6180339887498949
		u[i] = v - math.Floor(v)
	}
	return u
}

func sampleByRule(rule string, n int) []float64 {
	x := golden(n)
	switch rule {
	case "u*u":
		for i, u := range x {
			x[i] = float64(u * u)
		}
	case "u+v+w":
		m := golden(3 * n)
		for i := range x {
			x[i] = m[i] + float64(m[n+i]*m[n+i]) + m[2*n+i]
		}
	}
	return x
}

func TestShapiroWilkAgainstR(t *testing.T) {
	var ref struct {
		ShapiroWilk []struct {
			X    []float64
			Rule string
			N    int
			W, P float64
		}
	}
	readReference(t, "r.json", &ref)
	if len(ref.ShapiroWilk) != 19 {
		t.Fatalf("%d samples, want 19", len(ref.ShapiroWilk))
	}
	for _, c := range ref.ShapiroWilk {
		x := c.X
		if x == nil {
			x = sampleByRule(c.Rule, c.N)
		}
		got, err := ShapiroWilk(x)
		if err != nil {
			t.Errorf("%d values: %v", len(x), err)
			continue
		}
		wantNear(t, "W", got.Statistic, c.W, 1e-12)
		if c.P == 0 { // n = 3 and W at its least, 3/4: rounding decides
			if got.P > 1e-8 {
				t.Errorf("P of the least W = %v, want 0", got.P)
			}
			continue
		}
		wantNear(t, "P", got.P, c.P, 1e-10)
	}
}

// Shapiro and Wilk's own first example: weights in pounds of 11 men. W = 0.79 as
// published in 1965, Biometrika 52, p. 606 (from memory; R gives 0.78881).
func TestShapiroWilkPublished(t *testing.T) {
	got, err := ShapiroWilk([]float64{148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236})
	if err != nil || math.Abs(got.Statistic-0.79) > 0.005 || got.P > 0.01 {
		t.Errorf("W = %v, %v, want 0.79, below the 1 %% point", got, err)
	}
}

func TestShapiroWilkErrors(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want error
	}{
		{[]float64{1, 2, math.NaN()}, ErrTooFew},
		{golden(ShapiroWilkMax + 1), ErrTooMany},
		{[]float64{7, 7, 7, 7}, ErrConstant},
		{[]float64{7, 7, math.Inf(-1)}, ErrInfinite},
	} {
		if got, err := ShapiroWilk(c.x); !errors.Is(err, c.want) {
			t.Errorf("%d values: %v, %v, want error %v", len(c.x), got, err, c.want)
		}
	}
}

func TestShapiroWilkIgnoresUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-99, 99).Draw(t, "v")) }), 3, 40).Draw(t, "x")
		want, err := ShapiroWilk(x)
		shift, scale := float64(rapid.IntRange(-1000, 1000).Draw(t, "shift")), rapid.SampledFrom([]float64{-1, 0.125, 4096}).Draw(t, "scale")
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = scale*v + shift
		}
		got, err2 := ShapiroWilk(y)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("errors %v and %v", err, err2)
		}
		if err == nil && (!near(got.Statistic, want.Statistic, 1e-12) || math.Abs(got.P-want.P) > 1e-7) {
			t.Fatalf("in other units %v, want %v", got, want)
		}
		if err == nil && !(got.Statistic > 0 && got.Statistic <= 1 && got.P >= 0 && got.P <= 1) {
			t.Fatalf("W and P out of range: %v", got)
		}
	})
}

// Whatever the values, there is an error or a W and a P between 0 and 1.
func FuzzShapiroWilk(f *testing.F) {
	add := func(x ...float64) {
		var b []byte
		for _, v := range x {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
		f.Add(b)
	}
	add(1, 2, 3)
	add(math.MaxFloat64, -math.MaxFloat64, 0, math.MaxFloat64)
	add(5e-324, 0, 0, 5e-324, 0)
	add(1, math.Nextafter(1, 2), 1, 1)
	add(math.NaN(), 1, 2, 3, math.Inf(1))
	f.Fuzz(func(t *testing.T, b []byte) {
		var x []float64
		for ; len(b) >= 8; b = b[8:] {
			x = append(x, math.Float64frombits(binary.LittleEndian.Uint64(b)))
		}
		got, err := ShapiroWilk(x)
		if err == nil && !(got.Statistic >= 0 && got.Statistic <= 1 && got.P >= 0 && got.P <= 1) {
			t.Errorf("ShapiroWilk(%v) = %v", x, got)
		}
	})
}

func BenchmarkShapiroWilk5000(b *testing.B) {
	x := sampleByRule("u+v+w", 5000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ShapiroWilk(x); err != nil {
			b.Fatal(err)
		}
	}
}
