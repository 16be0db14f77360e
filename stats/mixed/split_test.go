package mixed

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestLayout(t *testing.T) {
	s := Split{Treatments: 3, Sources: []Source{
		{Name: "specimen", Variance: 0.5, Shared: true, Cost: 100},
		{Name: "pack", Variance: 2, Cost: 10},
		{Name: "run", Variance: 6, Cost: 1},
	}}
	l := s.At(2, 4, 3)
	// by hand: 2 specimens shared by all, 8 packs for each of 3 treatments, 24 runs each
	if l.Runs != 72 || l.Cost != 2*100+24*10+72 {
		t.Errorf("%d runs, cost %v", l.Runs, l.Cost)
	}
	if want := 2 * (0.5/2 + 2.0/8 + 6.0/24); !near(l.Variance, want, 0, 1e-15) {
		t.Errorf("variance %v, want %v", l.Variance, want)
	}
	for i, share := range l.Share {
		if !near(share, 1.0/3, 0, 1e-15) {
			t.Errorf("share %d = %v, want a third", i, share)
		}
	}
	// One more specimen takes 1/3 of everything away for 36 runs more; one more pack in
	// each specimen 1/5 of what is within specimens; one more run in each pack 1/4 of runs.
	gain := map[int]float64{0: 1.0 / 3, 1: 2.0 / 3 / 5, 2: 1.0 / 3 / 4}
	cost := map[int]float64{0: 50 + 50 + 120 + 36, 1: 60 + 18, 2: 24}
	steps := s.Next(l)
	if len(steps) != 3 {
		t.Fatalf("%d steps", len(steps))
	}
	for i, st := range steps {
		if !near(st.Gain, gain[st.Source], 0, 1e-14) || !near(st.Cost, cost[st.Source], 0, 1e-14) {
			t.Errorf("step %+v, want gain %v, cost %v", st, gain[st.Source], cost[st.Source])
		}
		if i > 0 && st.Gain/st.Cost > steps[i-1].Gain/steps[i-1].Cost {
			t.Errorf("step %d is a better buy than the one before it", i)
		}
	}
	s.Sources[1].Max = 4
	for _, st := range s.Next(l) {
		if st.Source == 1 {
			t.Error("a fifth pack where there are four")
		}
	}
}

// The best layout is that of a search through all.
func TestBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Split{Treatments: rapid.IntRange(2, 4).Draw(t, "treatments")}
		shared := true
		for range 3 {
			shared = shared && rapid.Bool().Draw(t, "shared")
			s.Sources = append(s.Sources, Source{
				Variance: float64(rapid.IntRange(0, 20).Draw(t, "variance")),
				Shared:   shared,
				Cost:     float64(rapid.IntRange(0, 20).Draw(t, "cost")),
				Max:      rapid.IntRange(0, 6).Draw(t, "max"),
			})
		}
		s.Runs = rapid.IntRange(1, 60).Draw(t, "runs")
		s.Budget = float64(rapid.IntRange(0, 900).Draw(t, "budget"))
		found := false
		var want Layout
		for a := 1; a <= 30; a++ {
			for b := 1; a*b <= 30; b++ {
				for c := 1; a*b*c <= 30; c++ {
					l := s.At(a, b, c)
					ok := l.Runs <= s.Runs && (s.Budget == 0 || l.Cost <= s.Budget)
					for i, n := range l.Items {
						ok = ok && (s.Sources[i].Max == 0 || n <= s.Sources[i].Max)
					}
					if ok && (!found || l.Variance < want.Variance*(1-1e-12) ||
						l.Variance <= want.Variance*(1+1e-12) && (l.Cost < want.Cost || l.Cost == want.Cost && l.Runs < want.Runs)) {
						found, want = true, l
					}
				}
			}
		}
		got, err := s.Best()
		if !found {
			if !errors.Is(err, ErrTooFewRuns) {
				t.Fatalf("error %v, want %v", err, ErrTooFewRuns)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if !near(got.Variance, want.Variance, 0, 1e-12) || got.Cost != want.Cost || got.Runs != want.Runs {
			t.Errorf("%+v, want %+v", got, want)
		}
	})
}

// With no bound but a large budget the number of runs in an item comes near the
// classical √(v2 c1 / (v1 c2)) (Cochran 1977, Sampling Techniques, 10.6).
func TestBestClassical(t *testing.T) {
	s := Split{Treatments: 2, Budget: 20_000, Sources: []Source{{Variance: 1, Cost: 36}, {Variance: 9, Cost: 4}}}
	l, err := s.Best()
	if err != nil {
		t.Fatal(err)
	}
	if want := math.Sqrt(9 * 36 / (1 * 4)); math.Abs(float64(l.Items[1])-want) > 1 {
		t.Errorf("%d runs in an item, want about %v", l.Items[1], want)
	}
	// Twice the smallest variance that fractions of items could have: (√v1c1 + √v2c2)²
	// over the budget of a treatment.
	if want := 2 * (6 + 6) * (6 + 6) / 10_000.0; l.Variance < want || l.Variance > 1.01*want {
		t.Errorf("variance %v, want within a per cent of %v", l.Variance, want)
	}
}

func TestBestErrors(t *testing.T) {
	s := Split{Treatments: 2, Sources: []Source{{Variance: 1, Cost: 5}, {Variance: 1}}}
	if _, err := s.Best(); !errors.Is(err, ErrUnbounded) {
		t.Errorf("error %v, want %v", err, ErrUnbounded)
	}
	s.Budget = 100
	if _, err := s.Best(); !errors.Is(err, ErrUnbounded) {
		t.Errorf("error %v, want %v: a run costs nothing", err, ErrUnbounded)
	}
	s.Runs = 1
	if _, err := s.Best(); !errors.Is(err, ErrTooFewRuns) {
		t.Errorf("error %v, want %v", err, ErrTooFewRuns)
	}
}
