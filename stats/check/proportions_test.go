package check

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestProportionsAgainstR(t *testing.T) {
	var ref struct {
		Proportions []struct {
			K, N                   int
			Alpha                  float64
			ClopperPearson, Wilson [2]float64
		}
	}
	readReference(t, "r.json", &ref)
	if len(ref.Proportions) != 18 {
		t.Fatalf("%d intervals, want 18", len(ref.Proportions))
	}
	for _, c := range ref.Proportions {
		cp, w := ClopperPearson(c.K, c.N, c.Alpha), Wilson(c.K, c.N, c.Alpha)
		wantNear(t, "Clopper-Pearson low", cp.Low, c.ClopperPearson[0], 1e-12)
		wantNear(t, "Clopper-Pearson high", cp.High, c.ClopperPearson[1], 1e-12)
		if c.K > 0 { // R leaves up to 1e-17 where the end is exactly 0
			wantNear(t, "Wilson low", w.Low, c.Wilson[0], 1e-12)
		} else if w.Low != 0 {
			t.Errorf("Wilson low of none = %v, want 0", w.Low)
		}
		wantNear(t, "Wilson high", w.High, c.Wilson[1], 1e-12)
	}
}

// With no occurrence the upper end solves (1−p)^n = alpha/2.
func TestClopperPearsonOfNone(t *testing.T) {
	for _, n := range []int{1, 5, 60, 100000} {
		want := -math.Expm1(math.Log(0.025) / float64(n))
		wantNear(t, "high", ClopperPearson(0, n, 0.05).High, want, 1e-13)
	}
}

func TestProportionsWithoutRuns(t *testing.T) {
	if got := ClopperPearson(0, 0, 0.05); got != (Interval{0, 1}) {
		t.Errorf("no runs: %v", got)
	}
	if got := Wilson(0, 0, 0.05); got != (Interval{0, 1}) {
		t.Errorf("no runs: %v", got)
	}
}

func TestProportionsLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 200).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		alpha := rapid.Float64Range(0.001, 0.5).Draw(t, "alpha")
		share := float64(k) / float64(n)
		for name, interval := range map[string]func(k, n int, alpha float64) Interval{"ClopperPearson": ClopperPearson, "Wilson": Wilson} {
			i, turned := interval(k, n, alpha), interval(n-k, n, alpha)
			if !(0 <= i.Low && i.Low <= share && share <= i.High && i.High <= 1) {
				t.Fatalf("%s(%d, %d, %v) = %v does not hold %v", name, k, n, alpha, i, share)
			}
			if math.Abs(i.Low-(1-turned.High)) > 1e-12 {
				t.Fatalf("%s: %v, turned over %v", name, i, turned)
			}
			if wider := interval(k, n, alpha/2); wider.Low > i.Low || wider.High < i.High {
				t.Fatalf("%s: %v at alpha, %v at half of it", name, i, wider)
			}
		}
		// Each end of the exact interval leaves alpha/2 beyond.
		if i := ClopperPearson(k, n, alpha); k > 0 && !near(binomialAtLeast(k, n, i.Low), alpha/2, 1e-9) {
			t.Fatalf("at the low end %v, want %v", binomialAtLeast(k, n, i.Low), alpha/2)
		}
		// At each end of Wilson's the score is z.
		if i := Wilson(k, n, alpha); k > 0 {
			z := (share - i.Low) / math.Sqrt(i.Low*(1-i.Low)/float64(n))
			if p := math.Erfc(z / math.Sqrt2); !near(p, alpha, 1e-9) {
				t.Fatalf("score at the low end has chance %v, want %v", p, alpha)
			}
		}
	})
}

func binomialAtLeast(k, n int, p float64) float64 {
	sum := 0.0
	for x := k; x <= n; x++ {
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(x + 1))
		c, _ := math.Lgamma(float64(n - x + 1))
		sum += math.Exp(a - b - c + float64(x)*math.Log(p) + float64(n-x)*math.Log1p(-p))
	}
	return sum
}
