package order_test

import (
	"math"
	"testing"

	"fairrun/design/order"
	"fairrun/design/screen"
)

// Shares by exact arithmetic, which stands beside each.
func TestInteractionsBetweenBlocks(t *testing.T) {
	t.Parallel()
	two := [][]int{{0, 0}, {0, 1}, {1, 0}, {1, 1}}
	three := [][]int{{0, 0}, {0, 1}, {1, 0}, {1, 1}, {2, 0}, {2, 1}}
	for _, c := range []struct {
		name   string
		levels [][]int
		blocks [][]int
		want   []screen.Interaction
	}{
		{"lost", two, [][]int{{0, 3}, {1, 2}}, []screen.Interaction{{Factors: [2]int{0, 1}, Share: 1}}},
		{"clear", two, [][]int{{0, 1, 2, 3}, {3, 2, 1, 0}}, nil},
		// Signs + − | + + − −: means 0 and 0.
		{"clear in blocks of two lengths", two, [][]int{{0, 1}, {0, 3, 1, 2}}, nil},
		// Signs + + | + −: block means 1 and 0, mean 1/2: 2·(1/4) + 2·(1/4) = 1 of 4·1 − 4·(1/4) = 3.
		{"a third", two, [][]int{{0, 3}, {0, 1}}, []screen.Interaction{{Factors: [2]int{0, 1}, Share: 1. / 3}}},
		{"three levels", three, [][]int{{0, 1, 2, 3, 4, 5}, {5, 4, 3, 2, 1, 0}}, nil},
		// Contrasts (−1, 1, 0) and (−1, −1, 2)/√3 of a, times −1 and 1 of b. First block 0, 3, the second
		// all but those: sums over blocks (2, −2) and (0, 0), squares 2²/2 + 2²/4 = 3 of 4 + 4.
		{"three levels mixed", three, [][]int{{0, 3}, {1, 2, 4, 5}}, []screen.Interaction{{Factors: [2]int{0, 1}, Share: 3. / 8}}},
	} {
		d := &order.Drawn{Plan: order.Spec{Treatments: len(c.levels), Blocks: len(c.blocks)}, Blocks: c.blocks}
		got := d.InteractionsBetweenBlocks(c.levels)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
			continue
		}
		for i := range got {
			if got[i].Factors != c.want[i].Factors || math.Abs(got[i].Share-c.want[i].Share) > 1e-12 {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
			}
		}
	}
}
