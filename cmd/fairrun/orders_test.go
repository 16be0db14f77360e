package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/screen"
)

const ordersDocument = "../../docs/orders.md"

// TestOrdersDocument measures what docs/orders.md says of drawn orders. With -update it writes the tables there:
//
//	go test ./cmd/fairrun -run OrdersDocument -update
func TestOrdersDocument(t *testing.T) {
	text, err := os.ReadFile(ordersDocument)
	if err != nil {
		t.Fatal(err)
	}
	document := string(text)
	for name, table := range map[string]string{"drift": driftTable(t), "blocks": blocksTable(t), "screens": screensTable(), "sessions": sessionsTable(t)} {
		begin, end := "<!-- "+name+" -->\n", "<!-- end of "+name+" -->\n"
		before, rest, found := strings.Cut(document, begin)
		shown, after, closed := strings.Cut(rest, end)
		if !found || !closed {
			t.Fatalf("%s has no place for the table %q", ordersDocument, name)
		}
		if *update {
			document = before + begin + table + end + after
			continue
		}
		if diff := cmp.Diff(shown, table); diff != "" {
			t.Errorf("table %q (-shown +measured):\n%s", name, diff)
		}
	}
	if *update {
		if err := os.WriteFile(ordersDocument, []byte(document), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// driftTable measures what drift costs, as the mean of 1 − efficiency over 1,000 orders: in plain random order and as drawn.
func driftTable(t *testing.T) string {
	const draws = 1000
	var b strings.Builder
	b.WriteString("| treatments | blocks | runs a block | drift | random | drawn | orders left |\n|--:|--:|--:|---|--:|--:|--:|\n")
	for _, p := range []order.Spec{
		{Treatments: 2, Blocks: 2, Replicates: 3, Drift: order.Linear},
		{Treatments: 4, Blocks: 2, Replicates: 2, Drift: order.Linear},
		{Treatments: 4, Blocks: 4, Replicates: 1, Drift: order.Linear},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Linear},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Linear, Own: true},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Quadratic},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Quadratic, Own: true},
		{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Linear, Own: true},
		{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Quadratic, Own: true},
		{Treatments: 12, Blocks: 5, Replicates: 1, Drift: order.Linear},
		{Treatments: 7, Blocks: 7, Runs: 3, Drift: order.Linear},
		{Treatments: 12, Blocks: 6, Runs: 8, Drift: order.Linear},
		{Treatments: 12, Blocks: 6, Runs: 8, Drift: order.Linear, Own: true},
		{Treatments: 4, Blocks: 4, Replicates: 1, Drift: order.Position},
		{Treatments: 5, Blocks: 5, Replicates: 1, Drift: order.Position},
		{Treatments: 7, Blocks: 7, Runs: 3, Drift: order.Position},
	} {
		d, err := order.Draw(p, 1)
		if err != nil {
			t.Fatal(err)
		}
		set, err := d.Set()
		if err != nil {
			t.Fatal(err)
		}
		sampler, src := set.Sampler(lot.New(1, 1<<32)), lot.New(1, 1<<32+1)
		var random, drawn float64
		for range draws {
			sampler.Fill(d.Blocks)
			drawn += lost(p, d.Blocks) / draws
			for _, block := range d.Blocks {
				lot.Shuffle(src, block)
			}
			random += lost(p, d.Blocks) / draws
		}
		kind := string(p.Drift) + ", each block's own"
		if !p.Own {
			kind = string(p.Drift)
		}
		fmt.Fprintf(&b, "| %d | %d | %d | %s | %.1f %% | %.1f %% | %s |\n", p.Treatments, p.Blocks, p.Length(), kind, 100*random, 100*drawn, d.Orders)
	}
	return b.String()
}

// lost is 1 − efficiency; 1 where a comparison cannot be estimated.
func lost(p order.Spec, blocks [][]int) float64 {
	q, err := order.Assess(p, blocks)
	if err != nil {
		return 1
	}
	return 1 - q.Efficiency
}

// blocksTable measures how good incomplete blocks are, against the bound.
func blocksTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| treatments | blocks | runs a block | efficiency | bound | |\n|--:|--:|--:|--:|--:|---|\n")
	for _, c := range []struct {
		t, b, k int
		lambda  int // in how many blocks each pair meets, where a balanced design is published; 0: none is
	}{
		{5, 10, 2, 1}, {5, 5, 4, 3}, {6, 10, 3, 2}, {7, 7, 3, 1}, {7, 7, 4, 2}, {8, 14, 4, 3}, {9, 12, 3, 1}, {10, 15, 4, 2}, {11, 11, 5, 2},
		{13, 13, 4, 1}, {15, 15, 7, 3}, {16, 20, 4, 1}, {21, 21, 5, 1},
		{25, 50, 4, 1}, {28, 63, 4, 1}, {28, 36, 7, 2}, {31, 31, 10, 3}, {25, 25, 9, 3},
		{6, 4, 3, 0}, {8, 8, 3, 0}, {9, 6, 3, 0}, {10, 10, 3, 0}, {12, 6, 8, 0}, {12, 9, 4, 0}, {16, 8, 4, 0}, {20, 15, 4, 0}, {30, 18, 5, 0}, {4, 4, 6, 0},
	} {
		d, err := order.Draw(order.Spec{Treatments: c.t, Blocks: c.b, Runs: c.k}, 1)
		if err != nil {
			t.Fatal(err)
		}
		remark := ""
		if c.lambda > 0 {
			// λT/(rk) with r = bk/T (Yates 1936).
			published := float64(c.lambda*c.t*c.t) / float64(c.b*c.k*c.k)
			if diff := d.BlockEfficiency - published; diff < -1e-9 || diff > 1e-9 {
				t.Errorf("%d treatments in %d blocks of %d: efficiency %v, the balanced design has %v", c.t, c.b, c.k, d.BlockEfficiency, published)
			}
			remark = "balanced"
		}
		// Halves are rounded up whatever the last bit.
		const last = 1e-12
		fmt.Fprintf(&b, "| %d | %d | %d | %.4f | %.4f | %s |\n", c.t, c.b, c.k, d.BlockEfficiency+last, d.BlockBound+last, remark)
	}
	return b.String()
}

// sessionsTable measures what it costs that sessions run every treatment as often as any other.
func sessionsTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| treatments | blocks | runs a block | blocks a session | runs of each a session | efficiency | bound | without sessions |\n|--:|--:|--:|--:|--:|--:|--:|--:|\n")
	for _, c := range []struct{ t, b, k, m int }{
		{4, 6, 2, 2}, {6, 15, 2, 3}, {6, 10, 3, 2}, {6, 20, 3, 2}, {6, 15, 4, 3}, {9, 12, 3, 3}, {8, 14, 4, 2}, {10, 15, 4, 5}, {12, 9, 4, 3}, {12, 6, 8, 3},
		{15, 35, 3, 5}, {16, 8, 4, 4}, {16, 12, 4, 4}, {20, 15, 4, 5}, {30, 18, 5, 6}, {7, 7, 3, 2}, {7, 7, 3, 3}, {9, 12, 3, 4}, {24, 18, 7, 3},
	} {
		p := order.Spec{Treatments: c.t, Blocks: c.b, Runs: c.k, Session: c.m}
		d, err := order.Draw(p, 1)
		if err != nil {
			t.Fatal(err)
		}
		p.Session = 0
		free, err := order.Draw(p, 1)
		if err != nil {
			t.Fatal(err)
		}
		least, most := d.Plan.PerSession(d.Blocks)
		each := fmt.Sprint(least)
		if most > least {
			each = fmt.Sprintf("%d to %d", least, most)
		}
		fmt.Fprintf(&b, "| %d | %d | %d | %d | %s | %.4f | %.4f | %.4f |\n", c.t, c.b, c.k, c.m, each, d.BlockEfficiency, d.BlockBound, free.BlockEfficiency)
	}
	return b.String()
}

// screensTable lists for how many factors the best fraction of so many runs has which resolution.
func screensTable() string {
	var b strings.Builder
	b.WriteString("| runs | resolution V or all combinations | IV | III |\n|--:|---|---|---|\n")
	for _, runs := range []int{4, 8, 16, 32} {
		factors := map[int][]int{}
		for n := 2; n <= 15; n++ {
			f, err := screen.Regular(n, runs)
			if err != nil {
				continue
			}
			resolution := f.Resolution
			if resolution == 0 || resolution > 5 {
				resolution = 5
			}
			factors[resolution] = append(factors[resolution], n)
		}
		fmt.Fprintf(&b, "| %d | %s | %s | %s |\n", runs, span(factors[5]), span(factors[4]), span(factors[3]))
	}
	return b.String()
}

// span writes consecutive numbers.
func span(n []int) string {
	switch len(n) {
	case 0:
		return ""
	case 1:
		return fmt.Sprint(n[0])
	case 2:
		return fmt.Sprintf("%d and %d", n[0], n[1])
	}
	return fmt.Sprintf("%d to %d", n[0], n[len(n)-1])
}
