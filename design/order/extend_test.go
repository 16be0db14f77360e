package order_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fairrun/design/lot"
	"fairrun/design/order"
)

func TestExtendKeepsWhatIsDone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := anyDraw(t)
		p := d.Plan
		before, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		longer := d
		for i := range rapid.IntRange(1, 2).Draw(t, "extensions") {
			added := rapid.IntRange(1, 3).Draw(t, "blocks")
			next, err := order.Extend(longer, added, uint64(100+i))
			if err != nil {
				t.Fatalf("%+v: %v", p, err)
			}
			if diff := cmp.Diff(longer.Blocks, next.Blocks[:len(longer.Blocks)]); diff != "" {
				t.Fatalf("earlier blocks changed (-before +after):\n%s", diff)
			}
			if len(next.Blocks) != len(longer.Blocks)+added {
				t.Fatalf("%d blocks and %d more make %d", len(longer.Blocks), added, len(next.Blocks))
			}
			longer = next
		}
		if after, _ := json.Marshal(d); string(after) != string(before) {
			t.Fatal("Extend changed the record it was given")
		}
		all := p
		all.Blocks = len(longer.Blocks)
		q, err := order.Assess(all, longer.Blocks)
		if err != nil {
			t.Fatal(err)
		}
		if !near(longer.Efficiency, q.Efficiency, 1e-9) {
			t.Fatalf("efficiency recorded %v, by least squares %v", longer.Efficiency, q.Efficiency)
		}
		s, err := longer.Set()
		if err != nil {
			t.Fatal(err)
		}
		fresh := make([][]int, len(longer.Blocks))
		for b := range fresh {
			fresh[b] = make([]int, p.Length())
		}
		m := s.Sampler(lot.New(1, 1<<32))
		for range 5 {
			m.Fill(fresh)
			if err := s.Allows(fresh); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func TestExtendRefuses(t *testing.T) {
	t.Parallel()
	d := draw(t, order.Spec{Treatments: 6, Blocks: 3, Replicates: 2, Drift: order.Linear, Own: true}, 1)
	if _, err := order.Extend(d, 0, 1); err == nil || err.Error() != "order: an extension adds at least 1 block, not 0" {
		t.Errorf("error %v", err)
	}
	d.Blocks[1], d.Blocks[2] = d.Blocks[2], d.Blocks[1]
	if _, err := order.Extend(d, 1, 1); err == nil || err.Error() != "order: block 2 is not the one that seed 1 draws; the order was changed by hand" {
		t.Errorf("error %v", err)
	}
}

// Two packs more for a campaign of two.
func ExampleExtend() {
	d, err := order.Draw(order.Spec{Treatments: 3, Blocks: 2, Replicates: 2, Drift: order.Linear}, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	longer, err := order.Extend(d, 2, 42)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(d.Blocks)
	fmt.Println(longer.Blocks)
	// Output:
	// [[0 2 0 1 2 1] [1 2 1 0 2 0]]
	// [[0 2 0 1 2 1] [1 2 1 0 2 0] [0 1 1 0 2 2] [2 2 1 0 1 0]]
}
