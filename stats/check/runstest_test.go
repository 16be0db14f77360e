package check

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestStretchTails(t *testing.T) {
	var ref struct {
		Stretches []struct {
			Above, Below, Count int
			Few, Many           float64
		}
	}
	readReference(t, "exact.json", &ref)
	if len(ref.Stretches) != 13 {
		t.Fatalf("%d cases, want 13", len(ref.Stretches))
	}
	for _, c := range ref.Stretches {
		few, many := stretchTails(c.Above, c.Below, c.Count)
		wantNear(t, "few", few, c.Few, 1e-12)
		wantNear(t, "many", many, c.Many, 1e-12)
	}
}

// Swed & Eisenhart 1943, table of 2.5 % points for 10 and 10: 6 or fewer, 16 or
// more (from memory; exact counting agrees).
func TestRunsTestPublished(t *testing.T) {
	for _, c := range []struct {
		count  int
		beyond bool
	}{{6, true}, {7, false}, {15, false}, {16, true}} {
		few, many := stretchTails(10, 10, c.count)
		if p := min(few, many); (p <= 0.025) != c.beyond {
			t.Errorf("10 and 10 with %d stretches: %v, beyond 2.5 %%: want %v", c.count, p, c.beyond)
		}
	}
}

func TestRunsTest(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name                string
		x                   []float64
		count, above, below int
		few                 float64
	}{
		// 2 of C(8,4) = 70 orders have two stretches.
		{"drift", []float64{1, 2, 3, 4, 5, 6, 7, 8}, 2, 4, 4, 2.0 / 70},
		{"alternating", []float64{1, 9, 2, 8, 3, 7, 4, 6}, 8, 4, 4, 1},
		// 5 is the median and passed over, as is the missing value.
		{"median among the values", []float64{1, 5, 2, nan, 3, 4, 6, 7, 8, 9}, 2, 4, 4, 2.0 / 70},
	} {
		got, err := RunsTest(c.x)
		if err != nil {
			t.Fatal(err)
		}
		if got.Count != c.count || got.Above != c.above || got.Below != c.below || got.Expected != 5 {
			t.Errorf("%s: %+v", c.name, got)
		}
		wantNear(t, c.name, got.Few, c.few, 1e-14)
		wantNear(t, c.name+" P", got.P, 4.0/70, 1e-14) // both ends have the same chance
	}
}

func TestRunsTestErrors(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want error
	}{
		{[]float64{1, 2, 3}, ErrTooFew},
		{[]float64{4, 4, 4, 4}, ErrConstant},
		{[]float64{1, 1, 1, 5, 0}, ErrTies},
		{[]float64{1, 1, 2, math.Inf(1)}, ErrInfinite},
	} {
		if got, err := RunsTest(c.x); !errors.Is(err, c.want) {
			t.Errorf("RunsTest(%v) = %v, %v, want error %v", c.x, got, err, c.want)
		}
	}
}

// Turned upside down or read backwards, a sequence has as many stretches.
func TestRunsTestSymmetry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-9, 9).Draw(t, "v")) }), 4, 60).Draw(t, "x")
		want, err := RunsTest(x)
		back, down := make([]float64, len(x)), make([]float64, len(x))
		for i, v := range x {
			back[len(x)-1-i], down[i] = v, 7-2*v
		}
		for _, y := range [][]float64{back, down} {
			got, err2 := RunsTest(y)
			if (err == nil) != (err2 == nil) || got.Count != want.Count || !near(got.Few, want.Few, 1e-13) || !near(got.Many, want.Many, 1e-13) {
				t.Fatalf("%v, %v; want %v, %v", got, err2, want, err)
			}
		}
		if err == nil && (want.Few < 0 || want.Few > 1 || want.Many > 1 || want.Few+want.Many < 1-1e-14) {
			t.Fatalf("tails out of range: %+v", want)
		}
	})
}

func BenchmarkRunsTest(b *testing.B) {
	for name, n := range map[string]int{"60": 60, "100000": 100_000} {
		x := golden(n)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := RunsTest(x); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
