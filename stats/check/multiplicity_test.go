package check

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestAdjustAgainstR(t *testing.T) {
	var ref struct {
		Adjust []struct{ P, Holm, BH numbers }
	}
	readReference(t, "r.json", &ref)
	if len(ref.Adjust) != 5 {
		t.Fatalf("%d lists, want 5", len(ref.Adjust))
	}
	for _, c := range ref.Adjust {
		p := plain(c.P)
		holm, bh := Holm(p), BenjaminiHochberg(p)
		for i := range p {
			wantNear(t, "Holm", holm[i], float64(c.Holm[i]), 1e-13)
			wantNear(t, "Benjamini-Hochberg", bh[i], float64(c.BH[i]), 1e-13)
		}
	}
}

func TestAdjustLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 0, 12).Draw(t, "p")
		holm, bh := Holm(p), BenjaminiHochberg(p)
		for i := range p {
			if !(p[i] <= bh[i] && bh[i] <= holm[i]+1e-15 && holm[i] <= 1) {
				t.Fatalf("p %v, Benjamini-Hochberg %v, Holm %v", p[i], bh[i], holm[i])
			}
			for j := range p {
				if p[i] <= p[j] && (holm[i] > holm[j] || bh[i] > bh[j]) {
					t.Fatalf("order lost between %v and %v", p[i], p[j])
				}
			}
		}
	})
}

func TestAdjustPanics(t *testing.T) {
	for _, bad := range []float64{-0.1, 1.1, math.Inf(1)} {
		func() {
			defer func() {
				if recover() != notAProbability {
					t.Errorf("%v did not panic", bad)
				}
			}()
			Holm([]float64{0.5, bad})
		}()
	}
}
