package compare

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestJudge compares the words with the table of the verdicts, ends included.
func TestJudge(t *testing.T) {
	none := math.NaN()
	for _, tt := range []struct {
		low, high, margin float64
		want              Word
	}{
		{2.5, 4, 2, Matters},
		{-4, -2.5, 2, Matters},
		{2, 4, 2, Matters}, // the interval begins at the margin
		{1, 4, 2, Real},
		{-4, -1, 2, Real},
		{0.5, 1.5, 2, Trivial},
		{-2, -0.5, 2, Trivial},
		{-1, 1.5, 2, Equal},
		{0, 1, 2, Equal}, // zero at the end is held
		{-1, 3, 2, Unresolved},
		{-3, 1, 2, Unresolved},
		{0, 3, 2, Unresolved},
		{2.5, 4, none, Real},
		{-4, -2.5, none, Real},
		{-1, 1.5, none, Unresolved},
		{none, 1, 2, Unresolved},
		{-1, none, 2, Unresolved},
	} {
		if got := Judge(tt.low, tt.high, tt.margin); got != tt.want {
			t.Errorf("Judge(%v, %v, %v) = %q, want %q", tt.low, tt.high, tt.margin, got, tt.want)
		}
	}
}

// TestJudgeIsFair: which level is compared with which does not change the word,
// nor does the unit.
func TestJudgeIsFair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-5, 5).Draw(t, "a")
		b := rapid.Float64Range(-5, 5).Draw(t, "b")
		m := rapid.Float64Range(0.1, 4).Draw(t, "margin")
		low, high := min(a, b), max(a, b)
		want := Judge(low, high, m)
		if got := Judge(-high, -low, m); got != want {
			t.Fatalf("turned round: %q, want %q", got, want)
		}
		if got := Judge(1024*low, 1024*high, 1024*m); got != want {
			t.Fatalf("in another unit: %q, want %q", got, want)
		}
	})
}
