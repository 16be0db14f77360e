package order_test

import (
	"math"
	"testing"

	"fairrun/design/order"
)

// TestSymmetricDesigns draws designs that exist and are neither cyclic nor found by exchanging treatments:
// every pair of treatments meets λ times, and the efficiency is λT/(rk) (Yates 1936).
func TestSymmetricDesigns(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ treatments, blocks, k, lambda int }{
		{25, 50, 4, 1},
		{28, 63, 4, 1},
		{28, 36, 7, 2},
		{31, 31, 10, 3},
		{25, 25, 9, 3},
		{16, 24, 6, 3},
		{16, 30, 8, 7},
		{21, 30, 7, 3},
		{24, 69, 8, 7},
		{25, 25, 16, 10}, // the complement of 25 blocks of 9
		{25, 50, 9, 6},   // twice those
		{16, 24, 22, 0},  // every treatment once, and 6 of 16 once more
	} {
		p := order.Spec{Treatments: c.treatments, Blocks: c.blocks, Runs: c.k}
		d := draw(t, p, 1)
		meet := make([][]int, c.treatments)
		for i := range meet {
			meet[i] = make([]int, c.treatments)
		}
		for _, block := range d.Blocks {
			for _, x := range block {
				for _, y := range block {
					meet[x][y]++
				}
			}
		}
		least, most := meet[0][1], meet[0][1]
		for x := range meet {
			for y := range x {
				least, most = min(least, meet[x][y]), max(most, meet[x][y])
			}
		}
		if c.lambda > 0 {
			r := float64(c.blocks*c.k) / float64(c.treatments)
			if want := float64(c.lambda*c.treatments) / (r * float64(c.k)); least != c.lambda || math.Abs(d.BlockEfficiency-want) > 1e-9 {
				t.Errorf("%+v: pairs meet %d to %d times, efficiency %v; want %d times and %v", c, least, most, d.BlockEfficiency, c.lambda, want)
			}
		}
		if least != most || math.Abs(d.BlockEfficiency-d.BlockBound) > 1e-9 {
			t.Errorf("%+v: pairs meet %d to %d times, efficiency %v of at most %v", c, least, most, d.BlockEfficiency, d.BlockBound)
		}
	}
}
