package resample

import (
	"context"
	"iter"
	"math/bits"
	"testing"

	"fairrun/stats/internal/accuracy"
	"fairrun/stats/linmod"
)

// counts is where the values of the textbooks' examples come from.
const counts = "counts in whole numbers"

// accuracyDarwin makes Fisher's test of Darwin's cross- and self-fertilised plants
// over all 2¹⁵ ways to deal the two kinds out in their pairs (The Design of
// Experiments, 1935, section 21; differences in eighths of an inch). Fisher
// counts 863 with a sum of 314 or more, hence 1726 either way; data from memory, count
// confirmed in whole numbers.
func accuracyDarwin(t *testing.T, page *accuracy.Section) {
	differences := []float64{49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48}
	n := len(differences)
	pair := linmod.Factor{Name: "pair", Levels: make([]string, n), Code: make([]int32, 2*n)}
	d := &Design{Treatments: 2, Drawn: make([]int32, 2*n), Families: []Family{Pairs(2)}, Alpha: 0.05}
	y := make([]float64, 2*n)
	for i, v := range differences {
		pair.Code[2*i], pair.Code[2*i+1] = int32(i), int32(i)
		d.Drawn[2*i+1] = 1
		y[2*i], y[2*i+1] = 160-v/2, 160+v/2
	}
	d.Slots.Blocks = []linmod.Factor{pair}
	test, err := d.Test(y)
	if err != nil {
		t.Fatal(err)
	}
	results, err := Enumerate(context.Background(), func(yield func([]int32) bool) {
		order := make([]int32, 2*n)
		for k := range 1 << n {
			for i := range n {
				bit := int32(k >> i & 1)
				order[2*i], order[2*i+1] = bit, 1-bit
			}
			if !yield(order) {
				return
			}
		}
	}, test)
	if err != nil {
		t.Fatal(err)
	}
	r := results[0]
	c := r.Families[0].Comparisons[0]
	const fisher, want = "Fisher 1935, section 21: 32,768 orders", 1726.0 / 32768
	for name, p := range map[string]float64{"P": r.P, "family P": r.Families[0].P, "comparison P": c.P, "PAdjusted": c.PAdjusted, "PComplete": c.PComplete} {
		if page.Line("p", fisher, counts).Add(p, want) != 0 {
			t.Errorf("%s = %v, want %v", name, p, want)
		}
	}
	if !near(c.Estimate, 314.0/15, 1e-12) {
		t.Errorf("Estimate = %v, want %v", c.Estimate, 314.0/15)
	}
	// A value δ is rejected if at most 1638 of the 32768 sums of ±(difference − δ)
	// are as large as the drawn one. Whole numbers: 1654 are just above −1/6,
	// 1638 just below; 1648 just below 41, 1634 just above.
	limits := page.Line("limits, in standard errors", fisher, counts)
	if !(limits.AddIn(c.Low, -1.0/6, c.SE) <= 1e-9) || !(limits.AddIn(c.High, 41, c.SE) <= 1e-9) {
		t.Errorf("interval %v to %v, want -1/6 to 41", c.Low, c.High)
	}
}

// accuracyTomatoes compares two fertilisers on 5 and 6 plants over all 462 ways to
// deal them out. Box, Hunter & Hunter (Statistics for Experimenters, 1978,
// section 4.3) give the data, from memory here; in whole numbers 305 have a difference of
// means as large, either way.
func accuracyTomatoes(t *testing.T, page *accuracy.Section) {
	y := []float64{29.9, 11.4, 25.3, 16.5, 21.1, 26.6, 23.7, 28.5, 14.2, 17.9, 24.3}
	d := &Design{Treatments: 2, Drawn: []int32{0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1}, Families: []Family{Pairs(2)}}
	test, err := d.Test(y)
	if err != nil {
		t.Fatal(err)
	}
	results, err := Enumerate(context.Background(), choices(11, 6), test)
	if err != nil {
		t.Fatal(err)
	}
	const box = "Box, Hunter & Hunter 1978, section 4.3: 462 orders"
	if r := results[0]; r.Orders != 462 || page.Line("p", box, counts).Add(r.P, 305.0/462) != 0 {
		t.Errorf("P = %v of %d orders, want 305/462 = %v", r.P, r.Orders, 305.0/462)
	}
}

// choices yields every way to give treatment 1 to k of n slots.
func choices(n, k int) iter.Seq[[]int32] {
	return func(yield func([]int32) bool) {
		order := make([]int32, n)
		for set := range uint(1) << n {
			if bits.OnesCount(set) != k {
				continue
			}
			for i := range order {
				order[i] = int32(set >> i & 1)
			}
			if !yield(order) {
				return
			}
		}
	}
}
