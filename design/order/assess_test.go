package order_test

import (
	"math"
	"testing"

	"fairrun/design/order"
)

func TestAssessAgainstR(t *testing.T) {
	t.Parallel()
	var cases []struct {
		Name       string
		Treatments int
		Drift      order.DriftModel
		Shared     bool
		Blocks     [][]int
		Efficiency float64
		DF         int
		Variance   [][]float64
		Free       [][]float64
		Linear     []float64
		Quadratic  []float64
	}
	read(t, "quality.json", &cases)
	if len(cases) == 0 {
		t.Fatal("no cases")
	}
	const digits = 1e-12
	for _, c := range cases {
		q, err := order.Assess(order.Spec{Treatments: c.Treatments, Drift: c.Drift, Own: !c.Shared}, c.Blocks)
		if err != nil {
			t.Errorf("%s: %v", c.Name, err)
			continue
		}
		if !near(q.Efficiency, c.Efficiency, digits) {
			t.Errorf("%s: efficiency = %v, want %v", c.Name, q.Efficiency, c.Efficiency)
		}
		if q.DF != c.DF {
			t.Errorf("%s: df = %d, want %d", c.Name, q.DF, c.DF)
		}
		for i := range c.Variance {
			if math.Abs(q.LinearCorrelation[i]-c.Linear[i]) > digits {
				t.Errorf("%s: linear correlation of %d = %v, want %v", c.Name, i, q.LinearCorrelation[i], c.Linear[i])
			}
			if math.Abs(q.QuadraticCorrelation[i]-c.Quadratic[i]) > digits {
				t.Errorf("%s: quadratic correlation of %d = %v, want %v", c.Name, i, q.QuadraticCorrelation[i], c.Quadratic[i])
			}
			for j := range c.Variance[i] {
				if !near(q.Variance[i][j], c.Variance[i][j], digits) {
					t.Errorf("%s: variance(%d, %d) = %v, want %v", c.Name, i, j, q.Variance[i][j], c.Variance[i][j])
				}
				if !near(q.VarianceWithoutDrift[i][j], c.Free[i][j], digits) {
					t.Errorf("%s: variance without drift(%d, %d) = %v, want %v", c.Name, i, j, q.VarianceWithoutDrift[i][j], c.Free[i][j])
				}
			}
		}
	}
}

// TestTrendFreeByHand: orders that are free of drift by arithmetic. A B B A and A B C C B A lose
// nothing to a straight drift by their symmetry (Cox, D. R. 1951, Biometrika 38, from memory); the
// sequence of Prouhet, A B B A B A A B, nothing to a parabola either, since powers up to the second
// sum to the same over both letters: 1+4+6+7 = 2+3+5+8, 1+16+36+49 = 4+9+25+64.
func TestTrendFreeByHand(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		treatments int
		drift      order.DriftModel
		block      []int
		want       float64
	}{
		{2, order.Linear, []int{0, 1, 1, 0}, 1},
		{3, order.Linear, []int{0, 1, 2, 2, 1, 0}, 1},
		{2, order.Quadratic, []int{0, 1, 1, 0, 1, 0, 0, 1}, 1},
		// 0 1 0 1: sums of (−3, −1, 1, 3) are ∓2, so λ = 2·2²/(2·20) = 1/5 and the efficiency 1 − λ.
		{2, order.Linear, []int{0, 1, 0, 1}, 0.8},
		// 0 0 1 1: sums ∓4, λ = 2·16/40.
		{2, order.Linear, []int{0, 0, 1, 1}, 0.2},
	} {
		q, err := order.Assess(order.Spec{Treatments: c.treatments, Drift: c.drift}, [][]int{c.block})
		if err != nil {
			t.Errorf("%v: %v", c.block, err)
			continue
		}
		if math.Abs(q.Efficiency-c.want) > 1e-14 {
			t.Errorf("%v: efficiency = %v, want %v", c.block, q.Efficiency, c.want)
		}
	}
}

func TestAssessRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan   order.Spec
		blocks [][]int
		want   string
	}{
		{order.Spec{Treatments: 2}, [][]int{{0, 1}, {0, 2}}, "order: block 2 position 2 holds treatment 2; the plan has 2 treatments"},
		{order.Spec{Treatments: 4}, [][]int{{0, 1}, {2, 3}}, "order: some comparison cannot be estimated: no chain of blocks joins its treatments"},
		{order.Spec{Treatments: 2, Drift: order.Linear, Own: true}, [][]int{{0, 1}, {1, 0}}, "order: some comparison cannot be distinguished from drift in this order"},
		{order.Spec{Treatments: 2, Drift: order.Quadratic, Own: true}, [][]int{{0, 1, 1, 0}}, "order: some comparison cannot be distinguished from drift in this order"},
	} {
		if _, err := order.Assess(c.plan, c.blocks); err == nil || err.Error() != c.want {
			t.Errorf("%v: error %v, want %s", c.blocks, err, c.want)
		}
	}
}
