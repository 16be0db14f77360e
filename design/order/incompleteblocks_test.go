package order_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"fairrun/design/order"
	"fairrun/design/screen"
)

// averageEfficiency computes the efficiency of a block design from the eigenvalues of its
// information matrix: their harmonic mean over the mean replication; 0 if one vanishes.
func averageEfficiency(treatments int, blocks [][]int) float64 {
	c := mat.NewSymDense(treatments, nil)
	runs := 0
	for _, block := range blocks {
		runs += len(block)
		times := make([]float64, treatments)
		for _, i := range block {
			times[i]++
			c.SetSym(i, i, c.At(i, i)+1)
		}
		for i, u := range times {
			for j, v := range times[:i+1] {
				c.SetSym(i, j, c.At(i, j)-u*v/float64(len(block)))
			}
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(c, false) {
		panic("eigenvalues do not converge")
	}
	values := eigen.Values(nil)
	slices.Sort(values)
	var inverse float64
	for _, v := range values[1:] {
		if v < 1e-9 {
			return 0
		}
		inverse += 1 / v
	}
	return float64(treatments-1) / inverse / (float64(runs) / float64(treatments))
}

// multisets yields the non-decreasing sequences of length k of numbers below n.
func multisets(n, k int, yield func([]int)) {
	x := make([]int, k)
	var fill func(i, from int)
	fill = func(i, from int) {
		if i == k {
			yield(x)
			return
		}
		for v := from; v < n; v++ {
			x[i] = v
			fill(i+1, v)
		}
	}
	fill(0, 0)
}

// TestSmallDesignsAreOptimal goes through all designs of some sizes: blocks of any treatments, even
// the same one twice, or with distinct treatments where the others are too many.
func TestSmallDesignsAreOptimal(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		treatments, runs int
		distinct         bool
		blocks           []int
	}{
		{2, 3, false, []int{2, 3, 4}},
		{3, 2, false, []int{2, 3, 4, 5}},
		{3, 4, false, []int{2, 3, 4}},
		{3, 5, false, []int{2, 3}},
		{4, 2, false, []int{3, 4, 5, 6}},
		{4, 3, false, []int{2, 3, 4}},
		{4, 3, true, []int{5, 6}},
		{5, 2, true, []int{4, 5, 6, 7, 8}},
		{5, 3, true, []int{3, 4, 5, 6}},
		{5, 4, true, []int{2, 3, 4, 6}},
		{6, 2, true, []int{6, 7}},
		{6, 3, true, []int{3, 4, 5}},
		{6, 4, true, []int{2, 3, 4, 5}},
		{7, 3, true, []int{4}},
		{7, 4, true, []int{3, 4}},
	} {
		var all [][]int
		multisets(c.treatments, c.runs, func(x []int) {
			if !c.distinct || len(slices.Compact(slices.Clone(x))) == c.runs {
				all = append(all, slices.Clone(x))
			}
		})
		for _, blocks := range c.blocks {
			best, bound := 0.0, 0.0
			design := make([][]int, blocks)
			first := blocks
			if c.distinct {
				// Whatever the design, names can be exchanged so that it holds the first block.
				first--
				design[blocks-1] = all[0]
			}
			multisets(len(all), first, func(choice []int) {
				for b, i := range choice {
					design[b] = all[i]
				}
				best = max(best, averageEfficiency(c.treatments, design))
			})
			p := order.Spec{Treatments: c.treatments, Blocks: blocks, Runs: c.runs}
			d := draw(t, p, 1)
			bound = d.BlockBound
			if got := averageEfficiency(c.treatments, d.Design); math.Abs(got-d.BlockEfficiency) > 1e-9 {
				t.Errorf("%d treatments in %d blocks of %d: efficiency recorded %v, by eigenvalues %v", c.treatments, blocks, c.runs, d.BlockEfficiency, got)
			}
			if d.BlockEfficiency < best-1e-9 {
				t.Errorf("%d treatments in %d blocks of %d: efficiency %v, the best of all designs has %v", c.treatments, blocks, c.runs, d.BlockEfficiency, best)
			}
			if best > bound+1e-9 {
				t.Errorf("%d treatments in %d blocks of %d: efficiency %v is above the bound %v", c.treatments, blocks, c.runs, best, bound)
			}
		}
	}
}

// TestBalancedDesigns: wherever a balanced design is listed in the tables (Fisher & Yates; Cochran
// & Cox, table 11.1a, from memory), one is found. Balance means that any two treatments share λ =
// r(k−1)/(T−1) blocks, which gives the listed efficiency factor λT/(rk).
func TestBalancedDesigns(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ treatments, blocks, runs int }{
		{4, 6, 2}, {4, 4, 3}, {5, 10, 2}, {5, 10, 3}, {5, 5, 4}, {6, 15, 2}, {6, 10, 3}, {6, 20, 3}, {6, 15, 4}, {6, 6, 5},
		{7, 21, 2}, {7, 7, 3}, {7, 7, 4}, {7, 21, 5}, {7, 7, 6}, {8, 28, 2}, {8, 14, 4}, {8, 28, 6}, {8, 8, 7},
		{9, 36, 2}, {9, 12, 3}, {9, 18, 4}, {9, 18, 5}, {9, 12, 6}, {9, 9, 8}, {10, 45, 2}, {10, 30, 3}, {10, 15, 4}, {10, 18, 5}, {10, 15, 6},
		{11, 11, 5}, {11, 11, 6}, {13, 26, 3}, {13, 13, 4}, {13, 13, 9}, {15, 35, 3}, {15, 15, 7}, {15, 15, 8}, {16, 20, 4}, {16, 16, 6}, {16, 16, 10},
		{19, 57, 3}, {19, 19, 9}, {21, 70, 3}, {21, 21, 5}, {25, 30, 5}, {31, 31, 6}, {37, 37, 9}, {41, 82, 5}, {49, 56, 7}, {57, 57, 8}, {64, 72, 8},
	} {
		d := draw(t, order.Spec{Treatments: c.treatments, Blocks: c.blocks, Runs: c.runs}, 1)
		r := c.blocks * c.runs / c.treatments
		lambda := r * (c.runs - 1) / (c.treatments - 1)
		meet := make([]int, c.treatments*c.treatments)
		for _, block := range d.Blocks {
			for _, i := range block {
				for _, j := range block {
					meet[i*c.treatments+j]++
				}
			}
		}
		for i := range c.treatments {
			for j := range c.treatments {
				want := lambda
				if i == j {
					want = r
				}
				if meet[i*c.treatments+j] != want {
					t.Fatalf("%v: treatments %d and %d share %d blocks, want %d", c, i, j, meet[i*c.treatments+j], want)
				}
			}
		}
		want := float64(lambda*c.treatments) / float64(r*c.runs)
		if !near(d.BlockEfficiency, want, 1e-9) || !near(d.BlockBound, want, 1e-9) {
			t.Errorf("%v: efficiency %v and bound %v, want %v", c, d.BlockEfficiency, d.BlockBound, want)
		}
	}
}

// TestSquareLattices: with r replicates r(s − 1) comparisons have efficiency (r − 1)/r and the
// others 1, so the average is (s + 1)(r − 1)/((s + 1)(r − 1) + r) (Cochran & Cox, section 10.21,
// from memory, and by this arithmetic).
func TestSquareLattices(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ s, replicates int }{{3, 2}, {4, 2}, {4, 3}, {5, 2}, {5, 3}, {5, 4}, {6, 2}, {6, 3}, {7, 3}, {8, 4}} {
		d := draw(t, order.Spec{Treatments: c.s * c.s, Blocks: c.s * c.replicates, Runs: c.s}, 1)
		a := float64((c.s + 1) * (c.replicates - 1))
		if want := a / (a + float64(c.replicates)); d.BlockEfficiency < want-1e-9 {
			t.Errorf("%d² treatments, %d replicates: efficiency %v, the lattice has %v", c.s, c.replicates, d.BlockEfficiency, want)
		}
	}
}

// TestUnevenSizes: designs that do not come from a construction stay near the bound.
func TestUnevenSizes(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		treatments, blocks, runs int
		least                    float64 // share of the bound
	}{
		{12, 10, 6, 0.995}, {12, 3, 8, 0.99}, {20, 12, 5, 0.98}, {24, 9, 8, 0.96}, {30, 18, 5, 0.96}, {36, 18, 6, 0.97}, {100, 40, 10, 0.96}, {7, 5, 10, 0.995},
	} {
		d := draw(t, order.Spec{Treatments: c.treatments, Blocks: c.blocks, Runs: c.runs}, 1)
		if d.BlockEfficiency < c.least*d.BlockBound {
			t.Errorf("%v: efficiency %v is under %v of the bound %v", c, d.BlockEfficiency, c.least, d.BlockBound)
		}
	}
}

func TestEfficiencyIsWithinTheBound(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := order.Spec{
			Treatments: rapid.IntRange(2, 9).Draw(t, "treatments"),
			Runs:       rapid.IntRange(2, 12).Draw(t, "runs"),
			Blocks:     rapid.IntRange(2, 12).Draw(t, "blocks"),
		}
		d, err := order.Draw(p, 1)
		var impossible *order.ImpossibleError
		if errors.As(err, &impossible) {
			if p.Blocks*p.Runs >= p.Blocks+p.Treatments-1 {
				t.Fatalf("%+v: refused with enough runs: %v", p, err)
			}
			return
		}
		if d.BlockEfficiency > d.BlockBound+1e-9 || d.BlockEfficiency < 0.3 {
			t.Fatalf("%+v: efficiency %v, bound %v", p, d.BlockEfficiency, d.BlockBound)
		}
	})
}

// TestFractionInPacks splits a fraction over blocks without hiding a main effect.
func TestFractionInPacks(t *testing.T) {
	t.Parallel()
	f, err := screen.Regular(6, 16)
	if err != nil {
		t.Fatal(err)
	}
	d := draw(t, order.Spec{Treatments: 16, Blocks: 2, Runs: 8, Effects: order.MainEffects(f.Levels)}, 1)
	if !near(d.BlockEfficiency, 1, 1e-9) {
		t.Errorf("efficiency %v, want 1", d.BlockEfficiency)
	}
	for factor := range 6 {
		for b, block := range d.Blocks {
			high := 0
			for _, run := range block {
				high += f.Levels[run][factor]
			}
			if high != 4 {
				t.Errorf("factor %d is high in %d of 8 runs of block %d", factor, high, b)
			}
		}
	}
}

// Ten treatments in packs that last four runs.
func ExampleDraw_incompleteBlocks() {
	d, err := order.Draw(order.Spec{Treatments: 10, Blocks: 15, Runs: 4, Drift: order.Linear}, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("first pack:", d.Blocks[0])
	fmt.Printf("efficiency of the packs %.3f, at best %.3f\n", d.BlockEfficiency, d.BlockBound)
	fmt.Printf("efficiency against drift %.3f\n", d.Efficiency)
	// Output:
	// first pack: [3 9 1 0]
	// efficiency of the packs 0.833, at best 0.833
	// efficiency against drift 0.990
}

// TestManyTreatments: what is said of the order of many treatments must be what least squares on the treatments says.
func TestManyTreatments(t *testing.T) {
	t.Parallel()
	for _, p := range []order.Spec{
		{Treatments: 200, Blocks: 12, Runs: 20, Drift: order.Linear, Own: true},
		{Treatments: 200, Blocks: 12, Runs: 20, Drift: order.Quadratic},
		{Treatments: 200, Blocks: 110, Runs: 3, Drift: order.Linear},
		{Treatments: 200, Blocks: 4, Replicates: 1, Drift: order.Linear, Own: true, Reference: []int{0, 100, 201}},
		{Treatments: 200, Blocks: 12, Runs: 25, Drift: order.Linear, Own: true, Effects: order.MainEffects(levels(200, 10, 20))},
		{Treatments: 200, Blocks: 200, Runs: 2, Drift: order.None}, // joined by a ring at the least
	} {
		d := draw(t, p, 1)
		q, err := order.Assess(p, d.Blocks)
		if err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
		if math.Abs(q.Efficiency-d.Efficiency) > 1e-9 {
			t.Errorf("%d treatments in %d blocks: efficiency %v, by least squares %v", p.Treatments, p.Blocks, d.Efficiency, q.Efficiency)
		}
		if p.Runs == 0 || p.Effects != nil {
			continue
		}
		var mean float64
		for i, row := range q.VarianceWithoutDrift {
			for j, v := range row[:i] {
				if i != j {
					mean += v / float64(p.Treatments*(p.Treatments-1)/2)
				}
			}
		}
		if want := 2 * float64(p.Treatments) / float64(p.Blocks*p.Runs) / mean; math.Abs(d.BlockEfficiency-want) > 1e-9 {
			t.Errorf("%d treatments in %d blocks: efficiency of blocks %v, by least squares %v", p.Treatments, p.Blocks, d.BlockEfficiency, want)
		}
	}
}

// levels crosses factors of so many levels: level numbers by treatment and factor.
func levels(treatments int, factors ...int) [][]int {
	rows := make([][]int, treatments)
	for i := range rows {
		x := i
		for _, n := range factors {
			rows[i] = append(rows[i], x%n)
			x /= n
		}
	}
	return rows
}

// TestManyPositions: the means of many positions are taken out together.
func TestManyPositions(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 4, Blocks: 4, Replicates: 20, Drift: order.Position}
	if d := draw(t, p, 1); math.Abs(d.Efficiency-1) > 1e-9 {
		t.Errorf("efficiency of Latin squares %v, want 1", d.Efficiency)
	}
	p.Blocks = 3
	d := draw(t, p, 1)
	q, err := order.Assess(p, d.Blocks)
	if err != nil {
		t.Fatal(err)
	}
	// 240 runs, 3 blocks, 79 further positions and 3 comparisons.
	if q.DF != 240-3-79-3 {
		t.Errorf("%d degrees of freedom, want 155", q.DF)
	}
	// Positions are blocks of 3 of the 4 treatments, all equally often: a balanced design of efficiency 8/9.
	if math.Abs(d.Efficiency-8./9) > 1e-9 {
		t.Errorf("efficiency %v, want 8/9", d.Efficiency)
	}
}
