package order_test

import (
	"math"
	"testing"

	"fairrun/design/order"
)

// By hand. In 0 0 1 1 the runs of 0, less their mean, are ½ ½ −½ −½; with the course −3 −1 1 3 of norm √20 that makes −4, so
// R² = 16/20. Turned round in the second block the two cancel if all blocks share their drift, and do not if each
// has its own. Against the parabola 1 −1 −1 1 of norm 2, 0 1 1 0 makes 2: R² = 4/4. In the rows and columns 0 1 2, 1 2 0, 2 0 1
// positions say nothing of treatments; in 0 1 2, 0 2 1 they say all of 0, of which a run is expected in either
// block. Of 1, run at positions 2 and 3, the shares of positions, 0 ½ ½, are −⅓ 1/6 1/6 about their mean: 2(1/9 + 1/36 + 1/36) = ⅓ of c = 4/3, R = ½.
func TestDriftCorrelations(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		plan   order.Spec
		blocks [][]int
		want   []float64
	}{
		{"none", order.Spec{Treatments: 2}, [][]int{{0, 0, 1, 1}}, []float64{0, 0}},
		{"one block", order.Spec{Treatments: 2, Drift: order.Linear}, [][]int{{0, 0, 1, 1}}, []float64{math.Sqrt(0.8), math.Sqrt(0.8)}},
		{"shared", order.Spec{Treatments: 2, Drift: order.Linear}, [][]int{{0, 0, 1, 1}, {1, 1, 0, 0}}, []float64{0, 0}},
		{"each block's own", order.Spec{Treatments: 2, Drift: order.Linear, Own: true}, [][]int{{0, 0, 1, 1}, {1, 1, 0, 0}}, []float64{math.Sqrt(0.8), math.Sqrt(0.8)}},
		{"parabola", order.Spec{Treatments: 2, Drift: order.Quadratic}, [][]int{{0, 1, 1, 0}}, []float64{1, 1}},
		{"warm-up", order.Spec{Treatments: 2, Drift: order.Linear, Warmup: 1}, [][]int{{0, 0, 1, 1, 0}}, []float64{0, 0}},
		{"positions, a square", order.Spec{Treatments: 3, Drift: order.Position}, [][]int{{0, 1, 2}, {1, 2, 0}, {2, 0, 1}}, []float64{0, 0, 0}},
		{"positions", order.Spec{Treatments: 3, Drift: order.Position}, [][]int{{0, 1, 2}, {0, 2, 1}}, []float64{1, 0.5, 0.5}},
		{"alone in its block", order.Spec{Treatments: 2, Drift: order.Linear, Own: true}, [][]int{{0, 0}, {1, 1}}, []float64{0, 0}},
	} {
		got := order.DriftCorrelations(c.plan, c.blocks)
		for i, want := range c.want {
			if math.Abs(got[i]-want) > 1e-12 {
				t.Errorf("%s: correlations %v, want %v", c.name, got, c.want)
				break
			}
		}
	}
}
