package order_test

import (
	"fmt"
	"testing"

	"fairrun/design/lot"
	"fairrun/design/order"
)

var benchmarkPlans = []order.Spec{
	{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Linear},
	{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Quadratic},
	{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Linear, Own: true},
	{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Quadratic, Own: true},
	{Treatments: 12, Blocks: 5, Replicates: 1, Drift: order.Linear, Own: true},
	{Treatments: 12, Blocks: 5, Replicates: 1, Drift: order.Quadratic, Own: true},
	{Treatments: 4, Blocks: 15, Replicates: 1, Drift: order.Linear, Own: true},
	{Treatments: 4, Blocks: 15, Replicates: 1, Drift: order.Quadratic},
	{Treatments: 10, Blocks: 15, Runs: 4, Drift: order.Linear},
	{Treatments: 10, Blocks: 15, Runs: 4, Drift: order.Linear, Own: true},
	{Treatments: 7, Blocks: 7, Replicates: 1, Drift: order.Position},
	{Treatments: 6, Blocks: 10, Replicates: 1, CarryOver: true},
	{Treatments: 6, Blocks: 5, Replicates: 2, WholePlots: []int{0, 0, 0, 1, 1, 1}, Drift: order.Linear},
	{Treatments: 6, Blocks: 5, Replicates: 2, Reference: []int{0, 7, 13}, Drift: order.Linear},
}

func name(p order.Spec) string {
	return fmt.Sprintf("T%d_B%d_R%d_n%d_%s_own=%t_carry=%t_plots=%d", p.Treatments, p.Blocks, p.Replicates, p.Runs, p.Drift, p.Own, p.CarryOver, p.PlotsPerBlock())
}

// BenchmarkFill is the cost of one fresh allowed order of a campaign of 60 runs.
func BenchmarkFill(b *testing.B) {
	for _, p := range benchmarkPlans {
		b.Run(name(p), func(b *testing.B) {
			d, err := order.Draw(p, 1)
			if err != nil {
				b.Fatal(err)
			}
			s, err := d.Set()
			if err != nil {
				b.Fatal(err)
			}
			m := s.Sampler(lot.New(1, 1<<32))
			b.ReportAllocs()
			for b.Loop() {
				m.Fill(d.Blocks)
			}
			b.ReportMetric(d.Acceptance, "acceptance")
			b.ReportMetric(d.Efficiency, "efficiency")
			b.ReportMetric(d.Orders.Log10, "log10orders")
		})
	}
}

// BenchmarkDraw is the cost of a plan of 2,000 runs, of every kind and the slowest that are known of each.
func BenchmarkDraw(b *testing.B) {
	for _, p := range []order.Spec{
		{Treatments: 10, Blocks: 20, Replicates: 10, Drift: order.Quadratic},
		{Treatments: 10, Blocks: 200, Replicates: 1, Drift: order.Quadratic, Own: true},
		{Treatments: 100, Blocks: 20, Replicates: 1, Drift: order.Quadratic, Own: true},
		{Treatments: 200, Blocks: 10, Replicates: 1, Drift: order.Quadratic, Own: true},
		{Treatments: 50, Blocks: 20, Replicates: 2, Drift: order.Quadratic, Own: true},
		{Treatments: 4, Blocks: 1, Replicates: 500, Drift: order.Quadratic, Own: true},
		{Treatments: 200, Blocks: 250, Runs: 8, Drift: order.Linear, Own: true},
		{Treatments: 192, Blocks: 240, Runs: 8, Drift: order.Linear},
		{Treatments: 100, Blocks: 100, Runs: 20, Drift: order.Linear, Own: true},
		{Treatments: 12, Blocks: 250, Runs: 8, Drift: order.Quadratic, Own: true},
		{Treatments: 200, Blocks: 20, Runs: 100, Drift: order.Quadratic, Own: true},
		{Treatments: 40, Blocks: 50, Replicates: 1, Drift: order.Position},
		{Treatments: 40, Blocks: 100, Runs: 20, Drift: order.Position},
		{Treatments: 20, Blocks: 50, Replicates: 2, CarryOver: true},
		{Treatments: 200, Blocks: 1000, Runs: 2},
		{Treatments: 200, Blocks: 500, Runs: 4, Drift: order.Linear, Own: true},
		{Treatments: 4, Blocks: 2, Replicates: 250, Drift: order.Position},
		{Treatments: 200, Blocks: 10, Replicates: 1, Drift: order.Position},
		{Treatments: 200, Blocks: 250, Runs: 8, Session: 25, Drift: order.Linear, Own: true},
		{Treatments: 200, Blocks: 10, Replicates: 1, CarryOver: true, Reference: []int{0, 50, 101}},
		{Treatments: 200, Blocks: 20, Runs: 100, WholePlots: crossed(20, 10), Drift: order.Quadratic, Own: true},
		{Treatments: 200, Blocks: 10, Replicates: 1, WholePlots: crossed(20, 10), Drift: order.Position},
		{Treatments: 200, Blocks: 10, Replicates: 1, WholePlots: crossed(20, 10), CarryOver: true},
	} {
		b.Run(name(p), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := order.Draw(p, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
