package order_test

import (
	"fmt"
	"math"
	"testing"

	"fairrun/design/lot"
	"fairrun/design/order"
)

func TestLatinSquares(t *testing.T) {
	t.Parallel()
	for _, p := range []order.Spec{
		{Treatments: 2, Blocks: 2, Replicates: 1, Drift: order.Position},
		{Treatments: 4, Blocks: 4, Replicates: 1, Drift: order.Position},
		{Treatments: 5, Blocks: 10, Replicates: 2, Drift: order.Position},
		{Treatments: 7, Blocks: 7, Replicates: 1, Drift: order.Position},
		{Treatments: 12, Blocks: 12, Replicates: 1, Drift: order.Position},
	} {
		for seed := range uint64(20) {
			d := draw(t, p, seed)
			if !near(d.Efficiency, 1, 1e-9) {
				t.Errorf("%+v: efficiency %v, want 1", p, d.Efficiency)
			}
			for position := range d.Blocks[0] {
				times := make([]int, p.Treatments)
				for _, block := range d.Blocks {
					times[block[position]]++
				}
				for i, n := range times {
					if n != p.Blocks/p.Treatments {
						t.Fatalf("%+v: treatment %d stands %d times at position %d", p, i, n, position)
					}
				}
			}
		}
	}
}

// TestLatinSquaresAreUniform draws squares of 4, of which there are 576, and squares of 5, of which
// there are 161280; of the latter all are looked at by their reduced form (first row and column in
// order), of which there are 56.
func TestLatinSquaresAreUniform(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ treatments, classes, draws int }{{3, 12, 3000}, {4, 576, 20_000}, {5, 56, 10_000}} {
		d := draw(t, order.Spec{Treatments: c.treatments, Blocks: c.treatments, Replicates: 1, Drift: order.Position}, 1)
		m := set(t, d).Sampler(lot.New(1, 1<<32))
		counts := map[string]int{}
		for range c.draws {
			m.Fill(d.Blocks)
			if c.treatments == 5 {
				counts[fmt.Sprint(reduced(d.Blocks))]++
			} else {
				counts[fmt.Sprint(d.Blocks)]++
			}
		}
		var list []int
		for _, n := range counts {
			list = append(list, n)
		}
		if len(list) != c.classes {
			t.Errorf("squares of %d: %d classes drawn, want %d", c.treatments, len(list), c.classes)
		}
		if p := chiSquared(list); p < unlikely {
			t.Errorf("squares of %d: p = %g", c.treatments, p)
		}
	}
}

// reduced names treatments so that the first row is 0, 1, 2, … and sorts the rows by their first element.
func reduced(square [][]int) [][]int {
	name := make([]int, len(square))
	for i, t := range square[0] {
		name[t] = i
	}
	rows := make([][]int, len(square))
	for _, row := range square {
		to := name[row[0]]
		for _, t := range row {
			rows[to] = append(rows[to], name[t])
		}
	}
	return rows
}

// TestYouden: with c of T blocks in which positions form a balanced design, comparisons keep the
// efficiency T(c − 1)/((T − 1)c) of that design (Youden, W. J. 1937, Contributions from the Boyce
// Thompson Institute 9).
func TestYouden(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ treatments, blocks int }{{3, 2}, {4, 3}, {7, 3}, {7, 4}, {11, 5}, {11, 6}, {13, 4}, {13, 9}, {15, 7}, {21, 5}} {
		d := draw(t, order.Spec{Treatments: c.treatments, Blocks: c.blocks, Replicates: 1, Drift: order.Position}, 2)
		v, k := float64(c.treatments), float64(c.blocks)
		if want := v * (k - 1) / ((v - 1) * k); !near(d.Efficiency, want, 1e-9) {
			t.Errorf("%v: efficiency %v, want %v", c, d.Efficiency, want)
		}
	}
}

// TestRowsAndColumns: where incomplete blocks are a multiple of the treatments, positions cost
// nothing; elsewhere little.
func TestRowsAndColumns(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		treatments, blocks, runs int
		least                    float64
	}{
		{7, 7, 3, 1}, {7, 14, 3, 1}, {13, 13, 4, 1}, {5, 10, 3, 1}, {6, 12, 4, 1},
		{6, 10, 3, 0.97}, {12, 8, 6, 0.95}, {9, 12, 3, 0.95}, {20, 30, 5, 0.98},
	} {
		d := draw(t, order.Spec{Treatments: c.treatments, Blocks: c.blocks, Runs: c.runs, Drift: order.Position}, 2)
		if d.Efficiency < c.least-1e-9 {
			t.Errorf("%v: efficiency %v, want at least %v", c, d.Efficiency, c.least)
		}
	}
}

// TestSmallRowsAndColumns goes through all orders of small plans of complete blocks.
func TestSmallRowsAndColumns(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ treatments, blocks, replicates int }{{3, 2, 1}, {3, 4, 1}, {4, 2, 1}, {4, 3, 1}, {2, 3, 2}, {3, 2, 2}, {2, 3, 3}} {
		p := order.Spec{Treatments: c.treatments, Blocks: c.blocks, Replicates: c.replicates, Drift: order.Position}
		n := c.treatments * c.replicates
		var rows [][]int
		multisetPermutations(c.treatments, c.replicates, func(x []int) { rows = append(rows, append([]int(nil), x...)) })
		best := 0.0
		blocks := make([][]int, c.blocks)
		blocks[0] = rows[0] // positions can be exchanged
		var place func(b, from int)
		place = func(b, from int) {
			if b == c.blocks {
				if q, err := order.Assess(p, blocks); err == nil {
					best = max(best, q.Efficiency)
				}
				return
			}
			for i := from; i < len(rows); i++ {
				blocks[b] = rows[i]
				place(b+1, i)
			}
		}
		place(1, 0)
		d, err := order.Draw(p, 1)
		if best == 0 {
			if err == nil {
				t.Errorf("%v: drawn although no order of %d positions can be estimated", c, n)
			}
			continue
		}
		if err != nil {
			t.Errorf("%v: %v", c, err)
			continue
		}
		if d.Efficiency < best-1e-9 {
			t.Errorf("%v: efficiency %v, the best order has %v", c, d.Efficiency, best)
		}
	}
}

// multisetPermutations yields all orders of so many of each treatment.
func multisetPermutations(treatments, replicates int, yield func([]int)) {
	left := make([]int, treatments)
	for i := range left {
		left[i] = replicates
	}
	x := make([]int, treatments*replicates)
	var fill func(i int)
	fill = func(i int) {
		if i == len(x) {
			yield(x)
			return
		}
		for v := range left {
			if left[v] > 0 {
				left[v]--
				x[i] = v
				fill(i + 1)
				left[v]++
			}
		}
	}
	fill(0)
}

func TestLatinSquareCounts(t *testing.T) {
	t.Parallel()
	// 576² squares of 4 side by side; beyond 11 a lower bound, 10^98.87 for 15 (mpmath:
	// 30·log10(15!) − 225·log10(15)).
	for _, c := range []struct {
		p    order.Spec
		want float64
	}{
		{order.Spec{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Position}, 2 * math.Log10(576)},
		{order.Spec{Treatments: 15, Blocks: 15, Replicates: 1, Drift: order.Position}, 98.8745},
	} {
		if d := draw(t, c.p, 1); math.Abs(d.Orders.Log10-c.want) > 1e-3 {
			t.Errorf("%+v: 10^%v orders, want 10^%v", c.p, d.Orders.Log10, c.want)
		}
	}
}

// Seven treatments in three packs that share a drift of any shape: a Youden square.
func ExampleDraw_position() {
	d, err := order.Draw(order.Spec{Treatments: 7, Blocks: 3, Replicates: 1, Drift: order.Position}, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, block := range d.Blocks {
		fmt.Println(block)
	}
	fmt.Printf("efficiency %.3f\n", d.Efficiency)
	// Output:
	// [0 4 3 2 1 5 6]
	// [3 6 5 1 0 4 2]
	// [2 3 1 4 6 0 5]
	// efficiency 0.778
}
