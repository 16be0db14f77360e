package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// equalCov is the covariance matrix of k independent means with variance v.
func equalCov(k int, v float64) *mat.SymDense {
	c := mat.NewSymDense(k, nil)
	for i := range k {
		c.SetSym(i, i, v)
	}
	return c
}

// TestLeadsAgree has word, p, list and sizes of random campaigns say one thing.
func TestLeadsAgree(t *testing.T) {
	const df, alpha, campaigns = 12, 0.05, 100
	rng := rand.New(rand.NewPCG(1, 2))
	best, worst := 0, 0
	for range campaigns {
		k := 2 + rng.IntN(5)
		mean := make([]float64, k)
		cov := mat.NewSymDense(k, nil)
		for i := range mean {
			mean[i] = 2 * rng.NormFloat64()
			cov.SetSym(i, i, 0.1+rng.Float64())
		}
		shown, listed := 0, 0
		for i, l := range Leads(mean, cov, df, alpha) {
			if outside := l.Low > 0 || l.High < 0; outside != (l.P < alpha) {
				t.Fatalf("means %v: level %d: %+v: the interval and p disagree", mean, i, l)
			}
			if !(l.Low < l.Estimate && l.Estimate < l.High) || l.Estimate != mean[i]-mean[l.Rival] {
				t.Fatalf("means %v: level %d: %+v: the estimate is not inside", mean, i, l)
			}
			if l.Low > 0 {
				shown++
			}
			if l.MayBeBest {
				listed++
			}
			if l.High < 0 {
				worst++
			}
		}
		if listed == 0 || shown > 1 || (shown == 1) != (listed == 1) {
			t.Fatalf("means %v: %d shown to be the best, %d on the list", mean, shown, listed)
		}
		best += shown
	}
	if best < campaigns/20 || worst < campaigns/20 {
		t.Errorf("%d best and %d worse levels shown: too few to test by", best, worst)
	}
}

// TestLeadsAndEdwardsHsu works an example by hand: five levels, 20 degrees of freedom, standard error of a difference 1.
// The constants are from an independent program.
func TestLeadsAndEdwardsHsu(t *testing.T) {
	const lower, upper, dunnett = 2.525, 2.9924, 2.651
	mean := []float64{0, 1, 2.5, 5.2, 2.6}
	cov := equalCov(5, 0.5)
	got := Leads(mean, cov, 20, 0.05)
	for i, want := range []Range{
		{-5.2 - lower, -5.2 + upper},
		{-4.2 - lower, -4.2 + upper},
		{-2.7 - lower, -2.6 + lower}, // 3 leads by more than 2.6 - lower
		{2.6 - lower, 2.6 + upper},
		{-2.6 - lower, -2.6 + lower},
	} {
		if math.Abs(got[i].Low-want.Low) > 1e-3 || math.Abs(got[i].High-want.High) > 1e-3 {
			t.Errorf("level %d: %+v, want %v", i, got[i], want)
		}
	}
	// 2.6 is within 2.651 of 5.2, so that 3 and 4 are candidates.
	for i, l := range got {
		if l.MayBeBest != (i == 3) {
			t.Errorf("level %d may be the best: %v", i, l.MayBeBest)
		}
	}
	eh := EdwardsHsu(mean, cov, 20, 0.05)
	for i, want := range []Range{
		{-5.2 - dunnett, -2.6 + dunnett},
		{-4.2 - dunnett, -1.6 + dunnett},
		{-2.7 - dunnett, -0.1 + dunnett},
		{2.6 - dunnett, 2.6 + dunnett},
		{-2.6 - dunnett, -2.6 + dunnett},
	} {
		if math.Abs(eh[i].Low-want.Low) > 1e-3 || math.Abs(eh[i].High-want.High) > 1e-3 {
			t.Errorf("Edwards & Hsu, level %d: %v, want %v", i, eh[i], want)
		}
	}
}

func BenchmarkLeads(b *testing.B) {
	mean, cov := []float64{0, 1, 2.5, 5.2, 2.6}, equalCov(5, 0.5)
	b.Run("leads", func(b *testing.B) {
		for b.Loop() {
			Leads(mean, cov, 20, 0.05)
		}
	})
	tied := []float64{0, 1, 2, 2, -1}
	b.Run("tied", func(b *testing.B) {
		for b.Loop() {
			Leads(tied, cov, 20, 0.05)
		}
	})
}
