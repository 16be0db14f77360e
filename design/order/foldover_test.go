package order_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/screen"
)

// screenPlan is a plan of the runs of a fraction, and its fold-over in all factors with blocks of
// its own, not drawn yet.
func screenPlan(f *screen.Fraction, p order.Spec, blocks int) (order.Spec, order.Fold) {
	all := f.FoldOver().Levels
	effects := order.MainEffects(all)
	t := len(f.Levels)
	p.Treatments, p.Effects = t, effects[:t]
	fold := order.Fold{Whole: p}
	fold.Whole.Treatments, fold.Whole.Effects = 2*t, effects
	fold.Whole.Runs, fold.Whole.Replicates = t*p.Replicates, 0
	fold.Drawn.Plan = p
	fold.Drawn.Plan.Effects, fold.Drawn.Plan.Blocks = effects[t:], blocks
	for i := range t {
		fold.Treatments = append(fold.Treatments, t+i)
	}
	for b := range blocks {
		fold.At = append(fold.At, p.Blocks+b)
	}
	return p, fold
}

func regular(t interface{ Fatal(...any) }, factors, runs int) *screen.Fraction {
	f, err := screen.Regular(factors, runs)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// What was drawn stays, the blocks added hold the mirror image, and later blocks go to the part that
// has fewer.
func TestFoldedOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := regular(t, rapid.IntRange(5, 7).Draw(t, "factors"), 8)
		p, fold := screenPlan(f, order.Spec{
			Blocks: rapid.IntRange(1, 3).Draw(t, "blocks"), Replicates: rapid.IntRange(1, 2).Draw(t, "replicates"),
			Drift:  rapid.SampledFrom([]order.DriftModel{order.None, order.Linear, order.Quadratic}).Draw(t, "drift"),
			Warmup: rapid.IntRange(0, 1).Draw(t, "warmup"), Baseline: 3,
		}, rapid.IntRange(1, 3).Draw(t, "fold blocks"))
		if p.Blocks*8*p.Replicates < p.Blocks+2+f.Factors || len(fold.At)*8*p.Replicates < len(fold.At)+2+f.Factors {
			t.Skip("nothing is left to draw")
		}
		d, err := order.Draw(p, rapid.Uint64().Draw(t, "seed"))
		if err != nil {
			t.Fatal(err)
		}
		before, _ := json.Marshal(d)
		whole, err := order.FoldOver(d, fold, d.NextSeed())
		if err != nil {
			t.Fatal(err)
		}
		if after, _ := json.Marshal(d); string(after) != string(before) {
			t.Fatal("FoldOver changed the record it was given")
		}
		if diff := cmp.Diff(d.Blocks, whole.Blocks[:p.Blocks]); diff != "" {
			t.Fatalf("earlier blocks changed (-before +after):\n%s", diff)
		}
		holds(t, whole, 8, p.Replicates, fold.At)

		added := rapid.IntRange(1, 5).Draw(t, "blocks added")
		longer, err := order.Extend(whole, added, whole.NextSeed())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(whole.Blocks, longer.Blocks[:len(whole.Blocks)]); diff != "" {
			t.Fatalf("earlier blocks changed (-before +after):\n%s", diff)
		}
		at, first := slices.Clone(fold.At), p.Blocks
		for b := len(whole.Blocks); b < len(longer.Blocks); b++ {
			if first <= len(at) {
				first++
			} else {
				at = append(at, b)
			}
		}
		holds(t, longer, 8, p.Replicates, at)
		if used := len(longer.Extensions) + len(longer.Fold.Drawn.Extensions); longer.NextSeed() != d.Seed+2+uint64(used) {
			t.Fatalf("after %d extensions the next seed is %d, that of the first draw %d", used, longer.NextSeed(), d.Seed)
		}
	})
}

// holds checks that an order holds the mirror image, treatments from t on, in the blocks named and
// the runs in the others, that its record gives a set it belongs to, and how good it says it is.
func holds(t *rapid.T, d *order.Drawn, treatments, replicates int, mirrored []int) {
	text, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	var back order.Drawn
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	set, err := back.Set()
	if err != nil {
		t.Fatal(err)
	}
	fresh := make([][]int, len(d.Blocks))
	for b := range fresh {
		fresh[b] = make([]int, len(d.Blocks[b]))
	}
	m := set.Sampler(lot.New(1, 1<<32))
	for try := range 4 {
		blocks := d.Blocks
		if try > 0 {
			m.Fill(fresh)
			blocks = fresh
		}
		if err := set.Allows(blocks); err != nil {
			t.Fatal(err)
		}
		for b, block := range blocks {
			times := make([]int, 2*treatments)
			for i, role := range d.Plan.Roles() {
				if role == order.RoleDrawn {
					times[block[i]]++
				} else if block[i] != d.Plan.Baseline {
					t.Fatalf("block %d runs treatment %d in place of the baseline", b, block[i])
				}
			}
			for k, n := range times {
				if want := replicates; (k >= treatments) != slices.Contains(mirrored, b) {
					if want = 0; n != want {
						t.Fatalf("block %d holds treatment %d of the other part", b, k)
					}
				} else if n != want {
					t.Fatalf("block %d holds treatment %d %d times, want %d", b, k, n, want)
				}
			}
		}
	}
	q, err := order.Assess(d.Whole(), d.Blocks)
	if err != nil {
		t.Fatal(err)
	}
	if !near(d.Efficiency, q.Efficiency, 1e-9) {
		t.Fatalf("efficiency recorded %v, by least squares %v", d.Efficiency, q.Efficiency)
	}
	if d.BlockEfficiency != 1 {
		t.Fatalf("efficiency of the blocks is %v: main effects lose nothing to them", d.BlockEfficiency)
	}
}

// Each order of the one part comes with each order of the other, all equally often: of three factors
// in four runs, 24·24 of them.
func TestFoldedSetIsUniform(t *testing.T) {
	p, fold := screenPlan(regular(t, 3, 4), order.Spec{Blocks: 1, Replicates: 1}, 1)
	d := draw(t, p, 41)
	whole, err := order.FoldOver(d, fold, 42)
	if err != nil {
		t.Fatal(err)
	}
	set, err := whole.Set()
	if err != nil {
		t.Fatal(err)
	}
	if whole.Orders != (lot.Count{Log10: 2.7604}) { // log10 576
		t.Errorf("orders %+v, want 10^2.7604", whole.Orders)
	}
	m := set.Sampler(lot.New(7, 1<<32))
	dst := [][]int{make([]int, 4), make([]int, 4)}
	seen := map[string]int{}
	const each = 40
	for range 576 * each {
		m.Fill(dst)
		seen[fmt.Sprint(dst)]++
	}
	if len(seen) != 576 {
		t.Fatalf("%d orders came up, want 576", len(seen))
	}
	chi := 0.0
	for _, n := range seen {
		chi += float64((n-each)*(n-each)) / each
	}
	if chi > 709.75 { // R: qchisq(0.9999, 575) is 709.7498
		t.Errorf("chi-squared %v with 575 degrees of freedom", chi)
	}
	if n := testing.AllocsPerRun(10, func() { m.Fill(dst) }); n != 0 {
		t.Errorf("Fill allocates %v times", n)
	}
}

// A record that was changed by hand, or does not hold together, is refused.
func TestFoldedSetRefuses(t *testing.T) {
	t.Parallel()
	p, fold := screenPlan(regular(t, 5, 8), order.Spec{Blocks: 2, Replicates: 1, Drift: order.Linear}, 2)
	for _, c := range []struct {
		change func(d *order.Drawn)
		want   string
	}{
		{func(d *order.Drawn) { d.Blocks[2][0], d.Blocks[2][1] = d.Blocks[2][1], d.Blocks[2][0] }, "block 3 is not as its part was drawn"},
		{func(d *order.Drawn) { d.Blocks[3][0] = 1 }, "block 4 is not as its part was drawn"},
		{func(d *order.Drawn) { d.Fold.At = []int{3, 2} }, "not ascending numbers from 0 to 3"},
		{func(d *order.Drawn) { d.Fold.At = []int{3} }, "order has 3 blocks, the plan 2"},
		{func(d *order.Drawn) { d.Fold.Treatments = d.Fold.Treatments[1:] }, "the second part names 7 of its 8 treatments"},
		{func(d *order.Drawn) { d.Fold.Treatments[0] = 16 }, "treatment 16 of the second part is none of the 16"},
		{func(d *order.Drawn) { d.Fold.Whole.Warmup = 1 }, "the parts differ in what stands at their positions"},
		{func(d *order.Drawn) { d.Fold.Whole.Treatments = 17 }, "the first part does not fit the whole"},
		{func(d *order.Drawn) { d.Fold.Whole.WholePlots = []int{0} }, "whole plots are not given for all treatments"},
		{func(d *order.Drawn) { d.Fold.Whole.Effects = d.Fold.Whole.Effects[1:] }, "effects are given for 15 of 16 treatments"},
	} {
		whole, err := order.FoldOver(draw(t, p, 1), fold, 2)
		if err != nil {
			t.Fatal(err)
		}
		whole.Fold.Treatments = slices.Clone(whole.Fold.Treatments)
		c.change(whole)
		if _, err := whole.Set(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
	whole, err := order.FoldOver(draw(t, p, 1), fold, 2)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := order.FoldOver(whole, fold, 3); err == nil {
		t.Error("an order was folded over twice")
	}
}

// Whole plots of a folded screen. One hard factor has the same two settings in both parts. Of three
// hard factors with C = AB the parts hold four settings each, and none in common.
func TestFoldedStrata(t *testing.T) {
	t.Parallel()
	f := regular(t, 5, 8) // D = AB, E = AC
	for _, c := range []struct {
		hard []int
		want []order.Stratum
	}{
		// 4 blocks of 2 plots: 8 less 4 blocks less the effect of the hard factor. 32 runs less 8 plots
		// less the effects of 4 easy factors.
		{[]int{0}, []order.Stratum{{"whole plots", 2, 4, 3}, {"runs", 16, 2, 20}}},
		// 4 blocks of 4 plots: 16 less 4 blocks less 3 effects. 32 runs less 16 plots less 2 effects.
		{[]int{0, 1, 3}, []order.Stratum{{"whole plots", 8, 2, 9}, {"runs", 16, 2, 14}}},
	} {
		p, fold := screenPlan(f, order.Spec{Blocks: 2, Replicates: 1}, 2)
		settings := func(rows [][]int) (plots []int) {
			number := map[string]int{}
			for _, row := range rows {
				key := ""
				for _, k := range c.hard {
					key += fmt.Sprint(row[k])
				}
				if _, known := number[key]; !known {
					number[key] = len(number)
				}
				plots = append(plots, number[key])
			}
			return plots
		}
		all := f.FoldOver().Levels
		p.WholePlots, fold.Drawn.Plan.WholePlots, fold.Whole.WholePlots = settings(all[:8]), settings(all[8:]), settings(all)
		whole, err := order.FoldOver(draw(t, p, 3), fold, 4)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.want, whole.Strata()); diff != "" {
			t.Errorf("hard factors %v (-want +got):\n%s", c.hard, diff)
		}
	}
}

// A screen of three factors in four runs, and its mirror image in a block of its own.
func ExampleFoldOver() {
	f, err := screen.Regular(3, 4)
	if err != nil {
		fmt.Println(err)
		return
	}
	p, fold := screenPlan(f, order.Spec{Blocks: 1, Replicates: 1}, 1)
	d, err := order.Draw(p, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	whole, err := order.FoldOver(d, fold, d.NextSeed())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(d.Blocks)
	fmt.Println(whole.Blocks)
	// Output:
	// [[3 0 2 1]]
	// [[3 0 2 1] [6 5 7 4]]
}
