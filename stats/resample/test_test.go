package resample

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"fairrun/stats/linmod"
	"fairrun/stats/parallel"
)

// orders yields the given orders.
func orders(list ...[]int32) func(func([]int32) bool) {
	return func(yield func([]int32) bool) {
		for _, order := range list {
			if !yield(order) {
				return
			}
		}
	}
}

func TestErrors(t *testing.T) {
	line := linmod.Model{Covariates: []linmod.Covariate{{Name: "position", Value: []float64{0, 1, 2, 3}}}}
	half := linmod.Model{Blocks: []linmod.Factor{{Name: "pack", Levels: []string{"1", "2"}, Code: []int32{0, 0, 1, 1}}}}
	for _, c := range []struct {
		name  string
		slots linmod.Model
		drawn []int32
		y     []float64
		want  error
	}{
		{"a treatment a block", half, []int32{0, 0, 1, 1}, []float64{1, 3, 2, 5}, ErrConfounded},
		{"one treatment left", linmod.Model{}, []int32{0, 1, 0, 1}, []float64{1, math.NaN(), 2, math.NaN()}, ErrConfounded},
		{"no degrees of freedom", line, []int32{0, 1, 1, 0}, []float64{1, 3, 2, math.NaN()}, ErrNoNoise},
		{"response of blocks alone", half, []int32{0, 1, 0, 1}, []float64{7, 7, 9, 9}, ErrNoNoise},
		{"response of treatments alone", half, []int32{0, 1, 0, 1}, []float64{7.1, 7.3, 9.1, 9.3}, ErrNoNoise},
		{"no response", half, []int32{0, 1, 0, 1}, []float64{math.NaN(), math.NaN(), math.NaN(), math.NaN()}, linmod.ErrNoRows},
		{"infinite response", half, []int32{0, 1, 0, 1}, []float64{1, math.Inf(1), 2, 3}, linmod.ErrInfinite},
	} {
		d := &Design{Slots: c.slots, Treatments: 2, Drawn: c.drawn, Families: []Family{Pairs(2)}}
		if _, err := d.Test(c.y); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.want)
		}
	}

	d := &Design{Treatments: 2, Drawn: []int32{0, 1, 0, 1}, Families: []Family{Pairs(2)}}
	test, err := d.Test([]float64{1, 3, 2, 5})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Enumerate(context.Background(), orders([]int32{0, 0, 1, 1}, []int32{1, 0, 1, 0}), test); !errors.Is(err, ErrNotDrawn) {
		t.Errorf("drawn order not listed: error %v, want %v", err, ErrNotDrawn)
	}

	many := &Design{Treatments: 40, Drawn: make([]int32, 80), Families: []Family{Pairs(40)}}
	if _, err := many.Test(make([]float64, 80)); !errors.Is(err, ErrTooLarge) {
		t.Errorf("780 comparisons: error %v, want %v", err, ErrTooLarge)
	}
	wide := campaign(4, 5, 3)
	test, err = wide.Test(normals(60, 1))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Sample(context.Background(), maxStored, sampler(wide, 12, 1), test); !errors.Is(err, ErrTooLarge) {
		t.Errorf("intervals of 2²⁵ draws: error %v, want %v", err, ErrTooLarge)
	}
}

func TestPanics(t *testing.T) {
	sound := func() *Design {
		return &Design{Treatments: 2, Drawn: []int32{0, 1, 0, 1}, Families: []Family{Pairs(2)}, Alpha: 0.05}
	}
	y := []float64{1, 3, 2, 5}
	test, err := sound().Test(y)
	if err != nil {
		t.Fatal(err)
	}
	short := &Design{Treatments: 2, Drawn: []int32{0, 1, 0}}
	other, err := short.Test([]float64{1, 3, 2})
	if err != nil {
		t.Fatal(err)
	}
	swap := func(int) func([]int32) { return func(o []int32) { copy(o, []int32{1, 0, 1, 0}) } }
	with := func(change func(d *Design)) func() {
		return func() {
			d := sound()
			change(d)
			d.Test(y)
		}
	}
	for _, c := range []struct {
		name string
		do   func()
		want string
	}{
		{"treatment factor among the slots", with(func(d *Design) { d.Slots.Factors = []linmod.Factor{{}} }), panicFactors},
		{"drawn too short", with(func(d *Design) { d.Drawn = d.Drawn[1:] }), panicLength},
		{"treatment 2 of 2", with(func(d *Design) { d.Drawn[0] = 2 }), panicCode},
		{"treatment −1", with(func(d *Design) { d.Drawn[0] = -1 }), panicCode},
		{"effects of one treatment", with(func(d *Design) { d.Effects = [][]float64{{1}} }), panicEffects},
		{"ragged effects", with(func(d *Design) { d.Effects = [][]float64{{1}, {1, 2}} }), panicEffects},
		{"weights that add to one", with(func(d *Design) { d.Families[0].Contrasts[0][0] = 0 }), panicWeights},
		{"weights of zero", with(func(d *Design) { d.Families[0].Contrasts[0] = make([]float64, 2) }), panicWeights},
		{"a weight too many", with(func(d *Design) { d.Families[0] = Pairs(3) }), panicWeights},
		{"alpha of one", with(func(d *Design) { d.Alpha = 1 }), panicAlpha},
		{"no draws", func() { Sample(context.Background(), 0, swap, test) }, panicDraws},
		{"no tests", func() { Sample(context.Background(), 1, swap) }, panicNone},
		{"tests of different slots", func() { Sample(context.Background(), 1, swap, test, other) }, panicTests},
		{"unknown treatment sampled", func() {
			Sample(context.Background(), 1000, func(int) func([]int32) { return func(o []int32) { o[0] = 2 } }, test)
		}, panicCode},
		{"unknown treatments listed", func() {
			Enumerate(context.Background(), slices.Values(slices.Repeat([][]int32{{0, 1, 0, 2}}, 20_000)), test)
		}, panicCode},
		{"order too short", func() { Enumerate(context.Background(), orders([]int32{0, 1}), test) }, panicOrder},
	} {
		t.Run(c.name, func(t *testing.T) {
			defer func() {
				got := recover()
				if p, ok := got.(*parallel.Panic); ok {
					got = p.Value
				}
				if got != c.want {
					t.Errorf("panic %v, want %q", got, c.want)
				}
			}()
			c.do()
		})
	}
}

// TestLostTreatment asks about a treatment none of whose runs has a response:
// its comparisons have no numbers, the others do.
func TestLostTreatment(t *testing.T) {
	d := campaign(3, 4, 1)
	y := normals(12, 4)
	for i, k := range d.Drawn {
		if k == 2 {
			y[i] = math.NaN()
		}
	}
	test, err := d.Test(y)
	if err != nil {
		t.Fatal(err)
	}
	results, err := Sample(context.Background(), 999, sampler(d, 3, 1), test)
	if err != nil {
		t.Fatal(err)
	}
	for k, c := range results[0].Families[0].Comparisons {
		numbers := []float64{c.Estimate, c.SE, c.T, c.P, c.PAdjusted, c.PComplete, c.Low, c.High}
		for _, v := range numbers {
			if c.Estimable != (k == 0) || math.IsNaN(v) == c.Estimable {
				t.Errorf("comparison %d: estimable %v, numbers %v", k, c.Estimable, numbers)
				break
			}
		}
	}
	if r := results[0]; r.DF1 != 1 || r.Families[0].DF1 != 1 {
		t.Errorf("degrees of freedom %d and %d, want 1 and 1", r.DF1, r.Families[0].DF1)
	}
}

// TestFewDraws has too few orders for any value to be rejected: 1/(1+draws) is
// above alpha.
func TestFewDraws(t *testing.T) {
	d := campaign(2, 3, 2)
	test, err := d.Test(normals(12, 4))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		draws  int
		finite bool
	}{{18, false}, {19, false}, {200, true}} {
		results, err := Sample(context.Background(), c.draws, sampler(d, 4, 1), test)
		if err != nil {
			t.Fatal(err)
		}
		k := results[0].Families[0].Comparisons[0]
		if finite := !math.IsInf(k.Low, 0) && !math.IsInf(k.High, 0); finite != c.finite {
			t.Errorf("%d draws: interval %v to %v, finite %v, want %v", c.draws, k.Low, k.High, finite, c.finite)
		}
	}
}

// TestFamilies compares the comparisons of a 2 × 3 factorial with weights
// written out by hand; treatments are 00 01 02 10 11 12.
func TestFamilies(t *testing.T) {
	third := 1.0 / 3
	for _, c := range []struct {
		name string
		got  Family
		want [][]float64
	}{
		{"pairs of three", Pairs(3), [][]float64{{-1, 1, 0}, {-1, 0, 1}, {0, -1, 1}}},
		{"against the second of three", Against(3, 1), [][]float64{{1, -1, 0}, {0, -1, 1}}},
		{"first factor", Pairs(6, []int{0, 1, 2}, []int{3, 4, 5}), [][]float64{{-third, -third, -third, third, third, third}}},
		{"second factor against its first", Against(6, 0, []int{0, 3}, []int{1, 4}, []int{2, 5}),
			[][]float64{{-.5, .5, 0, -.5, .5, 0}, {-.5, 0, .5, -.5, 0, .5}}},
	} {
		if len(c.got.Contrasts) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, c.got.Contrasts, c.want)
			continue
		}
		for k, weights := range c.want {
			for i, w := range weights {
				if c.got.Contrasts[k][i] != w {
					t.Errorf("%s: %v, want %v", c.name, c.got.Contrasts[k], weights)
					break
				}
			}
		}
	}
}

// TestAllocations judges orders without allocating.
func TestAllocations(t *testing.T) {
	d := campaign(4, 5, 3)
	d.Alpha = 0
	test, err := d.Test(normals(60, 1))
	if err != nil {
		t.Fatal(err)
	}
	w := newRun([]*Test{test}).worker()
	fill := sampler(d, 12, 1)(0)
	order := make([]int32, 60)
	if n := testing.AllocsPerRun(100, func() {
		fill(order)
		w.order(order)
	}); n != 0 {
		t.Errorf("%v allocations an order, want 0", n)
	}
}
