package mixed

import "testing"

func TestLayout(t *testing.T) {
	s := Split{Treatments: 3, Sources: []Source{
		{Name: "specimen", Variance: 0.5, Shared: true},
		{Name: "pack", Variance: 2},
		{Name: "run", Variance: 6},
	}}
	l := s.At(2, 4, 3)
	// by hand: 2 specimens shared by all, 8 packs for each of 3 treatments, 24 runs each
	if l.Runs != 72 {
		t.Errorf("%d runs, want 72", l.Runs)
	}
	if want := 2 * (0.5/2 + 2.0/8 + 6.0/24); !near(l.Variance, want, 0, 1e-15) {
		t.Errorf("variance %v, want %v", l.Variance, want)
	}
	for i, share := range l.Share {
		if !near(share, 1.0/3, 0, 1e-15) {
			t.Errorf("share %d = %v, want a third", i, share)
		}
	}
}
