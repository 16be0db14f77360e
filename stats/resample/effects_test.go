package resample

import (
	"math"
	"testing"

	"fairrun/stats/linmod"
)

// Two factors of 2 and 3 levels without interaction, all six treatments run: a level
// against another is the mean of the treatments with the one less that of those with the
// other. Without the treatment a2 b2, the weights still give the difference of two
// levels of b and nothing of a.
func TestContrastsOfOneFactor(t *testing.T) {
	a := linmod.Factor{Name: "a", Levels: []string{"a1", "a2"}, Code: []int32{0, 0, 0, 1, 1, 1}}
	b := linmod.Factor{Name: "b", Levels: []string{"b0", "b1", "b2"}, Code: []int32{0, 1, 2, 0, 1, 2}}
	at := func(rows int) *Effects {
		factors := []linmod.Factor{{Name: "a", Levels: a.Levels, Code: a.Code[:rows]}, {Name: "b", Levels: b.Levels, Code: b.Code[:rows]}}
		drawn := make([]int32, rows)
		for i := range drawn {
			drawn[i] = int32(i)
		}
		return NewEffects(rows, drawn, factors, 1)
	}
	whole := at(6)
	if got, want := whole.Contrast([]int{1}, []int{2}, []int{0}), []float64{-0.5, 0, 0.5, -0.5, 0, 0.5}; !near12(got, want) {
		t.Errorf("b2 less b0: weights %v, want %v", got, want)
	}
	third := 1.0 / 3
	if got, want := whole.Contrast([]int{0}, []int{1}, []int{0}), []float64{-third, -third, -third, third, third, third}; !near12(got, want) {
		t.Errorf("a2 less a1: weights %v, want %v", got, want)
	}
	part := at(5)
	w := part.Contrast([]int{1}, []int{2}, []int{0})
	// b2 is met with a1 alone: what is left of the effects is τ(b2) − τ(b0).
	sumA, sumB := make([]float64, 2), make([]float64, 3)
	for k, v := range w {
		sumA[part.code[k][0]] += v
		sumB[part.code[k][1]] += v
	}
	if !near12(sumA, []float64{0, 0}) || !near12(sumB, []float64{-1, 0, 1}) {
		t.Errorf("b2 less b0 without a2 b2: weights %v add to %v over a and %v over b", w, sumA, sumB)
	}
	// With an interaction in the model an average counts both levels of a alike.
	crossed := NewEffects(6, []int32{0, 1, 2, 3, 4, 5}, []linmod.Factor{a, b}, 2)
	if got, want := crossed.Contrast([]int{1}, []int{2}, []int{0}), []float64{-0.5, 0, 0.5, -0.5, 0, 0.5}; !near12(got, want) {
		t.Errorf("b2 less b0 with an interaction: weights %v, want %v", got, want)
	}
	// Nothing of b2 can be said where no treatment has it.
	if w := at(2).Contrast([]int{1}, []int{2}, []int{0}); w != nil {
		t.Errorf("b2 less b0 without b2: weights %v, want none", w)
	}
}

func near12(got, want []float64) bool {
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-12 {
			return false
		}
	}
	return len(got) == len(want)
}
