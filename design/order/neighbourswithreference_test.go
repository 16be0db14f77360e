package order_test

import (
	"slices"
	"testing"

	"fairrun/design/lot"
	"fairrun/design/order"
)

// drawnNeighbours counts how often each pair of drawn runs stands side by side, no fixed run between
// them, and how often each treatment stands at each position.
func drawnNeighbours(p order.Spec, blocks [][]int) (follows [][]int, at [][]int) {
	roles := p.Roles()
	for range p.Treatments {
		follows = append(follows, make([]int, p.Treatments))
		at = append(at, make([]int, len(roles)))
	}
	for _, block := range blocks {
		for i, x := range block {
			if roles[i] != order.RoleDrawn {
				continue
			}
			at[x][i]++
			if i > 0 && roles[i-1] == order.RoleDrawn {
				follows[block[i-1]][x]++
			}
		}
	}
	return follows, at
}

// TestReferencesLeavePositions: in every order each treatment, the baseline too, stands at each
// position as often as another where blocks are a multiple of treatments, and otherwise once more at
// most; and neighbours among drawn runs differ by one at most, which is the least there can be where
// their number is not a multiple of that of the pairs.
func TestReferencesLeavePositions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		plan   order.Spec
		spread int // of the counts of neighbours
	}{
		{"first position", order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Reference: []int{0}}, 0},
		{"both ends", order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Reference: []int{0, 5}, Baseline: 1}, 0},
		{"warm-up and two", order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Warmup: 1, Reference: []int{1, 4}}, 1},
		{"six of four", order.Spec{Treatments: 4, Blocks: 6, Replicates: 1, Reference: []int{0}}, 1},
		{"five of five", order.Spec{Treatments: 5, Blocks: 5, Replicates: 1, Reference: []int{0}}, 2},
		{"ten of five", order.Spec{Treatments: 5, Blocks: 10, Replicates: 1, Reference: []int{0}}, 0},
		{"three of six", order.Spec{Treatments: 6, Blocks: 3, Replicates: 1, Reference: []int{3}}, 1},
		{"twice", order.Spec{Treatments: 3, Blocks: 3, Replicates: 2, Reference: []int{0}}, 1},
		{"drift over position", order.Spec{Treatments: 4, Blocks: 6, Replicates: 1, Reference: []int{0}, Drift: order.Position}, 1},
		{"two blocks and drift over position", order.Spec{Treatments: 4, Blocks: 2, Replicates: 1, Reference: []int{0}, Drift: order.Position}, 1},
	} {
		p := c.plan
		p.CarryOver = true
		d := draw(t, p, 1)
		m := set(t, d).Sampler(lot.New(1, 1<<32))
		for i := range 6 {
			if i > 0 {
				m.Fill(d.Blocks)
			}
			follows, at := drawnNeighbours(p, d.Blocks)
			least, most := 1<<30, 0
			for i, row := range follows {
				for j, n := range row {
					if i != j {
						least, most = min(least, n), max(most, n)
					} else if n > 0 {
						t.Fatalf("%s: treatment %d follows itself", c.name, i)
					}
				}
			}
			if l, m := d.NeighbourRange(); l != least || m != most {
				t.Fatalf("%s: neighbours occur %d to %d times, said to be %d to %d", c.name, least, most, l, m)
			}
			if most-least > c.spread {
				t.Fatalf("%s: neighbours occur %d to %d times, want a difference of %d", c.name, least, most, c.spread)
			}
			few := p.Blocks / p.Treatments
			for i, row := range at {
				for j, n := range row {
					if p.Roles()[j] == order.RoleDrawn && n != few && (n != few+1 || p.Blocks%p.Treatments == 0) {
						t.Fatalf("%s: treatment %d stands %d times at position %d, want about %d", c.name, i, n, j, few)
					}
				}
			}
		}
	}
}

// TestReferencesTreatAllAlike: over many draws of six blocks of four, in which each position holds two
// treatments twice and two once, each of them is as likely to be there twice.
func TestReferencesTreatAllAlike(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 4, Blocks: 6, Replicates: 1, CarryOver: true, Warmup: 1, Reference: []int{1, 4}, Drift: order.Linear}
	m := set(t, draw(t, p, 1)).Sampler(lot.New(1, 1<<32))
	d := draw(t, p, 1)
	sums := make([][]int, len(p.Roles()))
	for range 4000 {
		m.Fill(d.Blocks)
		_, at := drawnNeighbours(p, d.Blocks)
		for i := range at {
			for j, n := range at[i] {
				if p.Roles()[j] != order.RoleDrawn {
					continue
				}
				if sums[j] == nil {
					sums[j] = make([]int, p.Treatments)
				}
				sums[j][i] += n - 1
			}
		}
	}
	for j, times := range sums {
		if times == nil {
			continue
		}
		if p := chiSquared(slices.Clone(times)); p < unlikely {
			t.Errorf("position %d: treatments stand there a second time %v times: p = %g", j, times, p)
		}
	}
}
