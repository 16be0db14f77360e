//go:build slow

package order_test

import (
	"fmt"
	"strings"
	"testing"

	"fairrun/design/lot"
	"fairrun/design/order"
)

// TestEfficiencyTable measures what drift costs in plain random order and in drawn order, as the
// mean of 1 − efficiency over many orders, beside the least loss of the orders seen. Run it with -v
// for the table:
//
//	go test -tags slow -run EfficiencyTable -v ./design/order
func TestEfficiencyTable(t *testing.T) {
	t.Parallel()
	const draws = 2000
	var table strings.Builder
	table.WriteString("| treatments | packs | replicates | drift | random | drawn | best seen | orders left |\n|--:|--:|--:|---|--:|--:|--:|--:|\n")
	for _, p := range []order.Spec{
		{Treatments: 4, Blocks: 2, Replicates: 2, Drift: order.Linear},
		{Treatments: 4, Blocks: 4, Replicates: 1, Drift: order.Linear},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Linear},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Quadratic},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Linear, Own: true},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Quadratic, Own: true},
		{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Linear},
		{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Linear, Own: true},
		{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Quadratic, Own: true},
		{Treatments: 12, Blocks: 5, Replicates: 1, Drift: order.Linear},
		{Treatments: 12, Blocks: 5, Replicates: 1, Drift: order.Linear, Own: true},
	} {
		d := draw(t, p, 1)
		m := set(t, d).Sampler(lot.New(1, 1<<32))
		src := lot.New(1, 1<<32+1)
		var random, drawn float64
		best := 1.0
		for range draws {
			m.Fill(d.Blocks)
			loss := lossOf(p, d.Blocks)
			drawn += loss / draws
			best = min(best, loss)
			for _, block := range d.Blocks {
				lot.Shuffle(src, block)
			}
			random += lossOf(p, d.Blocks) / draws
		}
		if drawn > random {
			t.Errorf("%+v: drawn orders lose %v, random ones %v", p, drawn, random)
		}
		drift := string(p.Drift)
		if !p.Own {
			drift = "shared " + drift
		}
		fmt.Fprintf(&table, "| %d | %d | %d | %s | %.1f %% | %.1f %% | %.1f %% | %s |\n",
			p.Treatments, p.Blocks, p.Replicates, drift, 100*random, 100*drawn, 100*best, d.Orders)
	}
	t.Log("\n" + table.String())
}

// lossOf is 1 − efficiency; 1 where a comparison cannot be estimated.
func lossOf(p order.Spec, blocks [][]int) float64 {
	q, err := order.Assess(p, blocks)
	if err != nil {
		return 1
	}
	return 1 - q.Efficiency
}
