package blocks

import "testing"

// TestBruckRyserChowla takes the numbers of symmetric designs from the list of those with λ > 1 and k ≤ 11 in Hall's
// Combinatorial Theory, from memory: all that pass the test exist but for the plane of order 10.
func TestBruckRyserChowla(t *testing.T) {
	for _, c := range []struct {
		treatments, k, lambda int
		may                   bool
	}{
		{7, 3, 1, true}, {13, 4, 1, true}, {21, 5, 1, true}, {31, 6, 1, true}, {43, 7, 1, false}, {57, 8, 1, true}, {111, 11, 1, true},
		{11, 5, 2, true}, {16, 6, 2, true}, {22, 7, 2, false}, {29, 8, 2, false}, {37, 9, 2, true}, {46, 10, 2, false}, {56, 11, 2, true},
		{15, 7, 3, true}, {25, 9, 3, true}, {31, 10, 3, true}, {34, 12, 4, false}, {43, 15, 5, false}, {41, 16, 6, true},
	} {
		if got := maySymmetric(c.treatments, c.k, c.lambda); got != c.may {
			t.Errorf("%+v: passes the test: %v", c, got)
		}
	}
}
