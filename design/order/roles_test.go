package order_test

import (
	"fmt"
	"math"
	"testing"

	"fairrun/design/order"
)

func TestReferenceRuns(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 3, Blocks: 3, Replicates: 2, Drift: order.Linear, Warmup: 1, Reference: []int{1, 5, 9}, Baseline: 2}
	d := draw(t, p, 5)
	for b, block := range d.Blocks {
		if len(block) != 10 {
			t.Fatalf("block %d has %d positions, want 10", b, len(block))
		}
		for _, at := range []int{0, 1, 5, 9} {
			if block[at] != 2 {
				t.Errorf("block %d position %d: treatment %d, want the baseline", b, at, block[at])
			}
		}
	}
	// Nine runs a block are analysed, of which the baseline has five, the others two each. Without
	// drift the variance of a comparison is 1/6 + 1/6 between the others, and with the baseline the
	// same as in three copies of one block: by C = diag(n) − n nᵀ/9 a block, comparisons have
	// variances 1/(3·2) + 1/(3·2) and 1/(3·5) + 1/(3·2).
	q, err := order.Assess(p, d.Blocks)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		i, j int
		want float64
	}{{0, 1, 1.0 / 3}, {0, 2, 1.0/15 + 1.0/6}, {1, 2, 1.0/15 + 1.0/6}} {
		if !near(q.VarianceWithoutDrift[c.i][c.j], c.want, 1e-12) {
			t.Errorf("variance(%d, %d) = %v, want %v", c.i, c.j, q.VarianceWithoutDrift[c.i][c.j], c.want)
		}
	}
	if math.Abs(q.Efficiency-d.Efficiency) > 1e-9 || q.Efficiency < 0.98 {
		t.Errorf("efficiency recorded %v, by least squares %v", d.Efficiency, q.Efficiency)
	}
	// 27 runs: 3 means, 1 slope, 2 comparisons.
	if q.DF != 21 {
		t.Errorf("df = %d, want 21", q.DF)
	}
}

// A pack begins with a warm-up run and has the baseline, treatment 0, as its first and last analysed run.
func ExampleSpec_Roles() {
	plan := order.Spec{Treatments: 3, Blocks: 2, Replicates: 1, Warmup: 1, Reference: []int{1, 5}, Drift: order.Linear}
	d, err := order.Draw(plan, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(plan.Roles())
	for _, block := range d.Blocks {
		fmt.Println(block)
	}
	// Output:
	// [warmup reference drawn drawn drawn reference]
	// [0 0 2 0 1 0]
	// [0 0 1 2 0 0]
}
