package mixed

import (
	"errors"
	"testing"

	"fairrun/stats/linmod"
)

// What cannot be distinguished is left out in turn: first the interplay, then all that is random.
func TestFitInterplay(t *testing.T) {
	y := []float64{3, 1, 4, 1, 5, 9, 2, 6, 7, 3, 8, 2}
	treatment := linmod.Model{Factors: []linmod.Factor{factor("prop", 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1)}}
	specimens := factor("specimen", 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2)
	both := Nested(treatment.Factors[0], specimens)
	one := factor("run", 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
	for _, c := range []struct {
		name              string
		random, interplay []linmod.Factor
		parts             int // random ones of the fit; 0: none
		left, err         error
	}{
		{"all", []linmod.Factor{specimens}, []linmod.Factor{both}, 2, nil, nil},
		{"no interplay", []linmod.Factor{specimens}, nil, 1, nil, nil},
		{"interplay alone", nil, []linmod.Factor{both}, 1, nil, nil},
		{"interplay that runs hide", []linmod.Factor{specimens}, []linmod.Factor{one}, 1, ErrRowPerLevel, nil},
		{"nothing else", nil, []linmod.Factor{one}, 0, ErrRowPerLevel, nil},
		{"nothing to estimate", []linmod.Factor{one}, []linmod.Factor{one}, 0, ErrRowPerLevel, ErrRowPerLevel},
		{"nothing random", nil, nil, 0, nil, nil},
	} {
		r, left, err := FitInterplay(Model{Fixed: treatment, Random: c.random}, c.interplay, y)
		if !errors.Is(left, c.left) || !errors.Is(err, c.err) {
			t.Errorf("%s: left out for %v, error %v; want %v and %v", c.name, left, err, c.left, c.err)
		}
		switch {
		case c.parts == 0 && r != nil:
			t.Errorf("%s: a fit where there is none", c.name)
		case c.parts > 0 && (r == nil || len(r.Components) != c.parts+1):
			t.Errorf("%s: fit %v, want %d random parts", c.name, r, c.parts)
		}
	}
}

func TestRepeats(t *testing.T) {
	f := factor("pair", 0, 1, 1, 2, -1, -1)
	for without, want := range []bool{true, false, false, true} {
		if got := Repeats(f, func(row int) bool { return row != without }); got != want {
			t.Errorf("without row %d: %v, want %v", without, got, want)
		}
	}
}
