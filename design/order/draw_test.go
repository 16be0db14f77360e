package order_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fairrun/design/lot"
	"fairrun/design/order"
)

func draw(t testing.TB, p order.Spec, seed uint64) *order.Drawn {
	t.Helper()
	d, err := order.Draw(p, seed)
	if err != nil {
		t.Fatalf("%+v: %v", p, err)
	}
	return d
}

func set(t testing.TB, d *order.Drawn) *order.Set {
	t.Helper()
	s, err := d.Set()
	if err != nil {
		t.Fatalf("%+v: %v", d.Plan, err)
	}
	return s
}

// anyDraw draws an order of any kind: of the nearest plan, where one is impossible.
func anyDraw(t *rapid.T) *order.Drawn {
	polynomial := rapid.SampledFrom([]order.DriftModel{order.None, order.Linear, order.Quadratic})
	p := order.Spec{
		Treatments: rapid.IntRange(2, 7).Draw(t, "treatments"),
		Blocks:     rapid.IntRange(1, 5).Draw(t, "blocks"),
		Replicates: rapid.IntRange(1, 3).Draw(t, "replicates"),
		Drift:      polynomial.Draw(t, "drift"),
		Own:        rapid.Bool().Draw(t, "own"),
		Warmup:     rapid.IntRange(0, 2).Draw(t, "warmup"),
	}
	p.Baseline = rapid.IntRange(0, p.Treatments-1).Draw(t, "baseline")
	kind := rapid.SampledFrom([]string{"complete", "whole plots", "effects", "reference", "incomplete", "sessions", "rows", "carry-over"}).Draw(t, "kind")
	switch kind {
	case "whole plots":
		for i := range p.Treatments {
			p.WholePlots = append(p.WholePlots, i%2)
		}
	case "effects":
		for i := range p.Treatments {
			p.Effects = append(p.Effects, []float64{float64(i), float64(i * i)})
		}
	case "reference":
		p.Reference = []int{p.Warmup, p.Warmup + p.Treatments*p.Replicates/2 + 1}
	case "incomplete":
		p.Replicates, p.Runs, p.Blocks = 0, rapid.IntRange(2, 6).Draw(t, "runs"), p.Blocks+4
		if rapid.Bool().Draw(t, "reference") {
			p.Reference = []int{p.Warmup + 1}
		}
	case "sessions":
		p.Replicates, p.Runs, p.Blocks = 0, rapid.IntRange(2, 6).Draw(t, "runs"), p.Blocks+5
		p.Session = rapid.IntRange(2, 4).Draw(t, "session")
	case "rows":
		p.Drift, p.Blocks = order.Position, p.Blocks+1
		if rapid.Bool().Draw(t, "incomplete") {
			p.Replicates, p.Runs, p.Blocks = 0, rapid.IntRange(3, 6).Draw(t, "runs"), p.Blocks+6
		}
	case "carry-over":
		p.CarryOver = true
	}
	seed := rapid.Uint64().Draw(t, "seed")
	d, err := order.Draw(p, seed)
	var impossible *order.ImpossibleError
	for tries := 0; tries < 5 && errors.As(err, &impossible); tries++ {
		d, err = order.Draw(*impossible.Nearest, seed)
	}
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// drawnRuns returns the runs of a block that are drawn.
func drawnRuns(p order.Spec, block []int) []int {
	var runs []int
	for i, role := range p.Roles() {
		if role == order.RoleDrawn {
			runs = append(runs, block[i])
		}
	}
	return runs
}

func TestDrawKeepsItsPromises(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := anyDraw(t)
		p := d.Plan
		for b, block := range d.Blocks {
			times := make([]int, p.Treatments)
			for _, k := range drawnRuns(p, block) {
				times[k]++
			}
			for k, n := range times {
				if p.Runs == 0 && n != p.Replicates {
					t.Fatalf("block %d has treatment %d %d times, want %d", b, k, n, p.Replicates)
				}
			}
			for i, role := range p.Roles() {
				if role != order.RoleDrawn && block[i] != p.Baseline {
					t.Fatalf("block %d position %d has treatment %d, want the baseline %d", b, i, block[i], p.Baseline)
				}
			}
		}
		q, err := order.Assess(p, d.Blocks)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(q.Efficiency-d.Efficiency) > 1e-9 {
			t.Fatalf("efficiency recorded %v, by least squares %v", d.Efficiency, q.Efficiency)
		}
		worst := 1 / (1 + d.Threshold)
		switch d.Scope {
		case order.Campaign:
			if q.Efficiency < worst-1e-9 {
				t.Fatalf("efficiency %v is under the least allowed %v", q.Efficiency, worst)
			}
		case order.EachBlock:
			one := p
			one.Blocks = 1
			for b := range d.Blocks {
				q, err := order.Assess(one, d.Blocks[b:b+1])
				if err != nil {
					t.Fatal(err)
				}
				if q.Efficiency < worst-1e-9 {
					t.Fatalf("block %d: efficiency %v is under the least allowed %v", b, q.Efficiency, worst)
				}
			}
		}
	})
}

func TestRecordGivesTheSameSet(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := anyDraw(t)
		text, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		back := new(order.Drawn)
		if err := json.Unmarshal(text, back); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(d, back); diff != "" {
			t.Fatalf("record changed on its way through JSON (-want +got):\n%s", diff)
		}
		s, err := back.Set()
		if err != nil {
			t.Fatal(err)
		}
		if s.Count() != d.Orders {
			t.Fatalf("count %v, recorded %v", s.Count(), d.Orders)
		}
		// The first order of the draw's own stream is the order drawn.
		again := make([][]int, len(d.Blocks))
		for b := range again {
			again[b] = make([]int, len(d.Blocks[b]))
		}
		s.Sampler(lot.New(d.Seed, 0)).Fill(again)
		if diff := cmp.Diff(d.Blocks, again); diff != "" {
			t.Fatalf("the set draws another order (-want +got):\n%s", diff)
		}
		m := s.Sampler(lot.New(d.Seed, 1<<32))
		for range 20 {
			m.Fill(again)
			if err := s.Allows(again); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// smallPlans have few enough orders to list.
var smallPlans = []order.Spec{
	{Treatments: 2, Blocks: 2, Replicates: 2, Drift: order.Linear},
	{Treatments: 2, Blocks: 2, Replicates: 3, Drift: order.Linear, Own: true},
	{Treatments: 3, Blocks: 2, Replicates: 1, Drift: order.Linear},
	{Treatments: 3, Blocks: 3, Replicates: 1, Drift: order.Quadratic},
	{Treatments: 3, Blocks: 3, Replicates: 1, Drift: order.Linear, Own: true},
	{Treatments: 4, Blocks: 2, Replicates: 1, Drift: order.Linear},
	{Treatments: 2, Blocks: 1, Replicates: 5, Drift: order.Quadratic, Own: true},
	{Treatments: 3, Blocks: 2, Replicates: 1},
	{Treatments: 3, Blocks: 1, Replicates: 3, Drift: order.Linear, Own: true},
}

func TestEveryAllowedOrderIsEquallyLikely(t *testing.T) {
	t.Parallel()
	for i, p := range smallPlans {
		d := draw(t, p, uint64(i))
		s := set(t, d)
		counts := map[string]int{}
		for order := range s.Enumerate() {
			counts[fmt.Sprint(order)] = 0
		}
		if uint64(len(counts)) != d.Orders.Exact {
			t.Fatalf("%+v: %d orders listed, %v counted", p, len(counts), d.Orders)
		}
		m := s.Sampler(lot.New(uint64(i), 1<<32))
		for range 30 * len(counts) {
			m.Fill(d.Blocks)
			key := fmt.Sprint(d.Blocks)
			if _, ok := counts[key]; !ok {
				t.Fatalf("%+v: order %s is not among those listed", p, key)
			}
			counts[key]++
		}
		var list []int
		for _, c := range counts {
			list = append(list, c)
		}
		if p := chiSquared(list); len(list) > 1 && p < unlikely {
			t.Errorf("%+v: p = %g over %d orders", d.Plan, p, len(list))
		}
	}
}

// TestCountsAgainstBruteForce lists all orders of a plan with loops of its own.
func TestCountsAgainstBruteForce(t *testing.T) {
	t.Parallel()
	for i, p := range smallPlans {
		d := draw(t, p, uint64(i))
		s := set(t, d)
		var all, allowed, first uint64
		blocks := make([][]int, p.Blocks)
		for b := range blocks {
			blocks[b] = make([]int, p.Treatments*p.Replicates)
		}
		left := make([][]int, p.Blocks)
		for b := range left {
			left[b] = make([]int, p.Treatments)
			for k := range left[b] {
				left[b][k] = p.Replicates
			}
		}
		var place func(b, i int)
		place = func(b, i int) {
			if b == p.Blocks {
				all++
				if s.Allows(blocks) == nil {
					allowed++
				}
				return
			}
			if i == len(blocks[b]) {
				place(b+1, 0)
				return
			}
			for k := range left[b] {
				if left[b][k] > 0 {
					left[b][k]--
					blocks[b][i] = k
					place(b, i+1)
					left[b][k]++
				}
			}
		}
		place(0, 0)
		if allowed != d.Orders.Exact {
			t.Errorf("%+v: %d of %d orders allowed by brute force, %v counted", p, allowed, all, d.Orders)
		}
		share := float64(allowed) / float64(all)
		if d.Scope == order.EachBlock {
			share = math.Pow(share, 1/float64(p.Blocks))
		}
		if math.Abs(share-d.Acceptance) > 1e-9 {
			t.Errorf("%+v: acceptance %v, by brute force %v", p, d.Acceptance, share)
		}
		for range s.Representatives() {
			first++
		}
		names := uint64(1)
		for k := 2; k <= p.Treatments; k++ {
			names *= uint64(k)
		}
		if first*names != allowed {
			t.Errorf("%+v: %d representatives × %d, %d orders", p, first, names, allowed)
		}
	}
}

func TestEveryTreatmentInEveryPosition(t *testing.T) {
	t.Parallel()
	for i, p := range []order.Spec{
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Linear},
		{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Quadratic},
		{Treatments: 3, Blocks: 3, Replicates: 2, Drift: order.Linear, Own: true},
		{Treatments: 5, Blocks: 4, Replicates: 1, Drift: order.Quadratic, Own: true},
		{Treatments: 6, Blocks: 2, Replicates: 1},
	} {
		d := draw(t, p, uint64(i))
		m := set(t, d).Sampler(lot.New(uint64(i), 1<<32))
		n := p.Treatments * p.Replicates
		counts := make([][][]int, p.Blocks)
		for b := range counts {
			counts[b] = make([][]int, n)
			for k := range counts[b] {
				counts[b][k] = make([]int, p.Treatments)
			}
		}
		for range 4000 {
			m.Fill(d.Blocks)
			for b, block := range d.Blocks {
				for k, v := range block {
					counts[b][k][v]++
				}
			}
		}
		for b := range counts {
			for k, c := range counts[b] {
				if pv := chiSquared(c); pv < unlikely/10 {
					t.Errorf("%+v block %d position %d: counts %v, p = %g", p, b, k, c, pv)
				}
			}
		}
	}
}

// TestTrendFreeOrders counts the orders of two treatments in one block whose runs are free of a
// straight drift: the ways to split 1, …, n into halves of equal size and sum, 2, 8, 58, 526 for n
// = 4, 8, 12, 16 (counted with Python's itertools).
func TestTrendFreeOrders(t *testing.T) {
	t.Parallel()
	for replicates, want := range map[int]int{2: 2, 4: 8, 6: 58, 8: 526} {
		// A B B A …: free of it by symmetry.
		var block []int
		for range replicates / 2 {
			block = append(block, 0, 1, 1, 0)
		}
		d := &order.Drawn{
			Version: order.Version,
			Plan:    order.Spec{Treatments: 2, Blocks: 1, Replicates: replicates, Drift: order.Linear, Own: true},
			Scope:   order.Campaign,
			Orders:  lot.Count{Exact: uint64(want)},
			Blocks:  [][]int{block},
		}
		var got int
		for range set(t, d).Enumerate() {
			got++
		}
		if got != want {
			t.Errorf("%d replicates: %d trend-free orders, want %d", replicates, got, want)
		}
	}
}

func TestDrawDependsOnTheSeed(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Linear}
	a, b, c := draw(t, p, 1), draw(t, p, 1), draw(t, p, 2)
	if diff := cmp.Diff(a, b); diff != "" {
		t.Errorf("same seed, another draw (-first +second):\n%s", diff)
	}
	if cmp.Equal(a.Blocks, c.Blocks) {
		t.Error("seeds 1 and 2 draw the same order")
	}
}

func TestBrokenRecords(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 3, Blocks: 2, Replicates: 2, Drift: order.Linear}
	for _, c := range []struct {
		change func(*order.Drawn)
		want   string
	}{
		{func(d *order.Drawn) { d.Version = 99 }, "order: drawn by version 99 of the generator; this is version 1"},
		{func(d *order.Drawn) { d.Plan.Blocks = 3 }, "order: the record does not hold together: order has 2 blocks, the plan 3"},
		{func(d *order.Drawn) { d.Blocks[1] = d.Blocks[1][:5] }, "order: the record does not hold together: block 2 has 5 runs, the plan 6"},
		{func(d *order.Drawn) { d.Blocks[1][2] = 3 }, "order: the record does not hold together: block 2 position 3 holds treatment 3; the plan has 3 treatments"},
		{func(d *order.Drawn) { d.Blocks[0] = []int{0, 0, 0, 1, 2, 2} }, "order: the record does not hold together: block 1 holds treatment 0 3 times, the plan 2"},
		{func(d *order.Drawn) { d.Blocks = [][]int{{0, 0, 1, 1, 2, 2}, {0, 0, 1, 1, 2, 2}} },
			fmt.Sprintf("order: the record does not hold together: the loss of the order is above the threshold %v", draw(t, p, 1).Threshold)},
	} {
		d := draw(t, p, 1)
		c.change(d)
		_, err := d.Set()
		if err == nil || err.Error() != c.want {
			t.Errorf("error\n %v\nwant\n %s", err, c.want)
		}
	}
}
