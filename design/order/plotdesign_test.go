package order_test

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"fairrun/design/blocks"
	"fairrun/design/lot"
	"fairrun/design/order"
)

// crossed returns Spec.WholePlots for so many settings of so many treatments each.
func crossed(settings, treatments int) []int {
	var plots []int
	for i := range settings * treatments {
		plots = append(plots, i/treatments)
	}
	return plots
}

// splitPlan draws a plan of whole plots in blocks that are not alike, or whose positions or
// neighbours count.
func splitPlan(t *rapid.T) order.Spec {
	p := order.Spec{
		Blocks: rapid.IntRange(2, 8).Draw(t, "blocks"),
		Drift:  rapid.SampledFrom([]order.DriftModel{order.None, order.Linear, order.Quadratic}).Draw(t, "drift"),
		Own:    rapid.Bool().Draw(t, "own"),
		Warmup: rapid.IntRange(0, 1).Draw(t, "warmup"),
	}
	for h := range rapid.IntRange(2, 4).Draw(t, "settings") {
		for range rapid.IntRange(1, 4).Draw(t, "treatments of a setting") {
			p.WholePlots = append(p.WholePlots, h)
		}
	}
	p.Treatments = len(p.WholePlots)
	switch rapid.SampledFrom([]string{"incomplete", "rows", "incomplete rows", "carry-over", "effects"}).Draw(t, "kind") {
	case "incomplete":
		p.Runs = rapid.IntRange(4, 9).Draw(t, "runs")
	case "effects":
		p.Runs = rapid.IntRange(4, 9).Draw(t, "runs")
		for i, h := range p.WholePlots {
			p.Effects = append(p.Effects, []float64{float64(h), float64(i % 3)})
		}
	case "rows":
		p.Replicates, p.Drift = rapid.IntRange(1, 2).Draw(t, "replicates"), order.Position
	case "incomplete rows":
		p.Runs, p.Drift, p.Blocks = rapid.IntRange(4, 6).Draw(t, "runs"), order.Position, p.Blocks+4
	case "carry-over":
		p.Replicates, p.CarryOver = rapid.IntRange(1, 2).Draw(t, "replicates"), true
	}
	return p
}

// gls returns the average variance of the comparisons of a plan by generalised least squares, with
// whole plots that vary as much as runs do: V = I + J in each. The columns are a mean for each block,
// the drift if asked for, and the treatments or the plan's effects.
func gls(p order.Spec, blocks [][]int, drift bool) float64 {
	var rows [][]float64
	var plot []int
	plots := 0
	n := len(blocks[0])
	for b, block := range blocks {
		for i, t := range block {
			if i == 0 || p.WholePlots[t] != p.WholePlots[block[i-1]] {
				plots++
			}
			plot = append(plot, plots)
			var row []float64
			if p.Effects != nil {
				row = append(row, p.Effects[t]...)
			} else {
				row = make([]float64, p.Treatments-1)
				if t > 0 {
					row[t-1] = 1
				}
			}
			means := make([]float64, len(blocks))
			means[b] = 1
			row = append(row, means...)
			if drift && p.Drift == order.Position {
				at := make([]float64, n-1)
				if i > 0 {
					at[i-1] = 1
				}
				row = append(row, at...)
			} else if degree := map[order.DriftModel]int{order.Linear: 1, order.Quadratic: 2}[p.Drift]; drift {
				y := (2*float64(i) - float64(n-1)) / float64(n)
				for k := range degree {
					z := y
					if k == 1 {
						z = y * y
					}
					if !p.Own {
						row = append(row, z)
						continue
					}
					own := make([]float64, len(blocks))
					own[b] = z
					row = append(row, own...)
				}
			}
			rows = append(rows, row)
		}
	}
	v := mat.NewSymDense(len(rows), nil)
	x := mat.NewDense(len(rows), len(rows[0]), nil)
	for i := range rows {
		x.SetRow(i, rows[i])
		for j := range i + 1 {
			switch {
			case i == j:
				v.SetSym(i, j, 2)
			case plot[i] == plot[j]:
				v.SetSym(i, j, 1)
			}
		}
	}
	var chol mat.Cholesky
	chol.Factorize(v)
	var vx, info, inv mat.Dense
	if err := chol.SolveTo(&vx, x); err != nil {
		return math.Inf(1)
	}
	info.Mul(x.T(), &vx)
	if err := inv.Inverse(&info); err != nil {
		return math.Inf(1)
	}
	coefficients := func(t int) []float64 {
		c := make([]float64, len(rows[0]))
		if p.Effects != nil {
			copy(c, p.Effects[t])
		} else if t > 0 {
			c[t-1] = 1
		}
		return c
	}
	var sum float64
	pairs := 0
	for i := range p.Treatments {
		for j := range i {
			d := mat.NewVecDense(len(rows[0]), coefficients(i))
			d.SubVec(d, mat.NewVecDense(len(rows[0]), coefficients(j)))
			sum += mat.Inner(d, &inv, d)
			pairs++
		}
	}
	return sum / float64(pairs)
}

// TestSplitPlots draws any plan of whole plots: they stay together, no setting comes twice in a
// block, and what is said of the order is what generalised least squares says.
func TestSplitPlots(t *testing.T) {
	t.Parallel()
	plans := rapid.Custom(splitPlan)
	possible := 0
	for seed := range 24 {
		p := plans.Example(seed)
		d, err := order.Draw(p, uint64(seed))
		if _, impossible := err.(*order.ImpossibleError); impossible {
			continue
		} else if err != nil {
			t.Fatal(err)
		}
		possible++
		blocks := make([][]int, len(d.Blocks))
		for b, block := range d.Blocks {
			blocks[b] = drawnRuns(p, block)
			checkPlots(t, p, blocks[b])
			if p.Replicates > 0 {
				sorted := slices.Sorted(slices.Values(blocks[b]))
				for i, v := range sorted {
					if v != i/p.Replicates {
						t.Fatalf("block %v, want each treatment %d times", blocks[b], p.Replicates)
					}
				}
			}
		}
		with, without := gls(p, blocks, true), gls(p, blocks, false)
		if math.Abs(without/with-d.Efficiency) > 1e-6 {
			t.Fatalf("%+v: efficiency %v, by generalised least squares %v", p, d.Efficiency, without/with)
		}
		if p.Runs > 0 && p.Effects == nil {
			// 2T/N over the average variance.
			want := 2 * float64(p.Treatments) / float64(p.Runs*p.Blocks) / without
			if math.Abs(want-d.BlockEfficiency) > 1e-6 || d.BlockEfficiency > d.BlockBound+1e-9 {
				t.Fatalf("%+v: efficiency of blocks %v of at most %v, by generalised least squares %v", p, d.BlockEfficiency, d.BlockBound, want)
			}
		}
		s, err := d.Set()
		if err != nil {
			t.Fatal(err)
		}
		m := s.Sampler(lot.New(1, 1<<32))
		for range 5 {
			m.Fill(d.Blocks)
			if err := s.Allows(d.Blocks); err != nil {
				t.Fatal(err)
			}
		}
	}
	if possible < 12 {
		t.Errorf("%d plans of 24 are possible", possible)
	}
}

func checkPlots(t testing.TB, p order.Spec, block []int) {
	t.Helper()
	seen := map[int]bool{}
	for i, v := range block {
		h := p.WholePlots[v]
		if i > 0 && h == p.WholePlots[block[i-1]] {
			continue
		}
		if seen[h] {
			t.Fatalf("block %v returns to setting %d", block, h)
		}
		seen[h] = true
	}
	if p.Runs > 0 && len(seen) < 2 {
		t.Fatalf("block %v has one whole plot", block)
	}
}

// TestSplitOptimum enumerates all blocks of two whole plots of two of three treatments each: none are
// better than those that are drawn.
func TestSplitOptimum(t *testing.T) {
	t.Parallel()
	var choices [][]int
	for a := range 3 {
		for b := range 3 {
			var block []int
			for i := range 3 {
				if i != a {
					block = append(block, i)
				}
			}
			for i := range 3 {
				if i != b {
					block = append(block, 3+i)
				}
			}
			choices = append(choices, block)
		}
	}
	for _, b := range []int{3, 4} {
		p := order.Spec{Treatments: 6, Blocks: b, Runs: 4, WholePlots: crossed(2, 3)}
		d := draw(t, p, 1)
		best := math.Inf(1)
		var add func(from int, blocks [][]int)
		add = func(from int, blocks [][]int) {
			if len(blocks) == b {
				best = min(best, gls(p, blocks, false))
				return
			}
			for i := from; i < len(choices); i++ {
				add(i, append(blocks[:len(blocks):len(blocks)], choices[i]))
			}
		}
		add(0, nil)
		if got := gls(p, d.Blocks, false); got > best*(1+1e-9) {
			t.Errorf("%d blocks: average variance %v, the best is %v", b, got, best)
		}
	}
}

// TestSplitPositions needs no search where Latin squares of whole plots and of the runs within them exist:
// with a multiple of settings × treatments of a setting in blocks, drift of any course costs nothing.
func TestSplitPositions(t *testing.T) {
	t.Parallel()
	for _, p := range []order.Spec{
		{Treatments: 6, Blocks: 6, Replicates: 1, Drift: order.Position, WholePlots: crossed(2, 3)},
		{Treatments: 6, Blocks: 6, Replicates: 2, Drift: order.Position, WholePlots: crossed(3, 2)},
		{Treatments: 12, Blocks: 12, Replicates: 1, Drift: order.Position, WholePlots: crossed(3, 4)},
	} {
		if d := draw(t, p, 3); math.Abs(d.Efficiency-1) > 1e-9 {
			t.Errorf("%+v: efficiency %v, want 1", p, d.Efficiency)
		}
	}
}

// TestSplitDrawsAlike counts, over many draws, how often each treatment stands at each place of a
// plan whose treatments are alike: equally often.
func TestSplitDrawsAlike(t *testing.T) {
	t.Parallel()
	for _, p := range []order.Spec{
		{Treatments: 6, Blocks: 3, Runs: 4, Drift: order.Linear, WholePlots: crossed(2, 3)},
		{Treatments: 6, Blocks: 4, Replicates: 1, Drift: order.Position, WholePlots: crossed(2, 3)},
		{Treatments: 6, Blocks: 3, Replicates: 1, CarryOver: true, WholePlots: crossed(3, 2)},
	} {
		d := draw(t, p, 1)
		m := set(t, d).Sampler(lot.New(5, 1<<32))
		n := len(d.Blocks[0])
		at := make([][]int, n)
		for i := range at {
			at[i] = make([]int, p.Treatments)
		}
		block := 0
		for draw := range 6000 {
			m.Fill(d.Blocks)
			block = draw % p.Blocks // one block a draw: those of one draw depend on each other
			for i, v := range d.Blocks[block] {
				at[i][v]++
			}
		}
		for i, counts := range at {
			if p.CarryOver {
				break // positions are not exchanged; names are, which the sums below see
			}
			if pv := chiSquared(counts); pv < unlikely {
				t.Errorf("%+v: at position %d treatments stand %v times, p = %g", p, i, counts, pv)
			}
		}
		first := make([]int, p.Treatments)
		for range 6000 {
			m.Fill(d.Blocks)
			first[d.Blocks[0][0]]++
		}
		if pv := chiSquared(first); pv < unlikely {
			t.Errorf("%+v: treatments come first %v times, p = %g", p, first, pv)
		}
	}
}

// TestSplitNeighbours: where numbers allow for it, each setting follows each other equally often, and each
// treatment each other of its setting.
func TestSplitNeighbours(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 12, Blocks: 12, Replicates: 1, CarryOver: true, WholePlots: crossed(3, 4)}
	d := draw(t, p, 1)
	settings := make([][]int, len(d.Blocks))
	for b, block := range d.Blocks {
		checkPlots(t, p, block)
		for _, v := range block {
			settings[b] = append(settings[b], p.WholePlots[v])
		}
	}
	for i, row := range blocks.Neighbours(3, settings) {
		for j, n := range row {
			if i != j && n != 12*2/(3*2) {
				t.Errorf("setting %d follows setting %d %d times, want 4", j, i, n)
			}
		}
	}
	for i, row := range blocks.Neighbours(12, d.Blocks) {
		for j, n := range row {
			switch {
			case i == j:
			case i/4 == j/4 && n != 12*3/(4*3):
				t.Errorf("treatment %d follows treatment %d %d times, want 3", j, i, n)
			case i/4 != j/4 && n > 1:
				t.Errorf("treatment %d follows treatment %d %d times, want 1 at most", j, i, n)
			}
		}
	}
}

// TestExtendSplit adds blocks of whole plots to those there are, which stay as they are.
func TestExtendSplit(t *testing.T) {
	t.Parallel()
	for _, p := range []order.Spec{
		{Treatments: 6, Blocks: 3, Runs: 4, Drift: order.Linear, WholePlots: crossed(2, 3)},
		{Treatments: 12, Blocks: 6, Runs: 6, Drift: order.Position, WholePlots: crossed(3, 4)},
		{Treatments: 6, Blocks: 3, Replicates: 1, CarryOver: true, WholePlots: crossed(3, 2)},
		{Treatments: 4, Blocks: 3, Replicates: 1, CarryOver: true, Reference: []int{0, 5}},
	} {
		d := draw(t, p, 1)
		longer, err := order.Extend(d, 3, 2)
		if err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
		for b, block := range d.Blocks {
			if !slices.Equal(block, longer.Blocks[b]) {
				t.Errorf("%+v: block %d changed", p, b+1)
			}
		}
		text, err := json.Marshal(longer)
		if err != nil {
			t.Fatal(err)
		}
		var read order.Drawn
		if err := json.Unmarshal(text, &read); err != nil {
			t.Fatal(err)
		}
		m := set(t, &read).Sampler(lot.New(1, 1<<32))
		for range 20 {
			m.Fill(read.Blocks)
			for _, block := range read.Blocks {
				if p.WholePlots != nil {
					checkPlots(t, p, block)
				}
			}
		}
	}
}
