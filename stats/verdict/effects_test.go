package verdict

import (
	"testing"
)

// With more comparisons than can be judged by the orders, the test of all treatments
// together is still made, and the rest is said.
func TestRandomisationOfManyLevels(t *testing.T) {
	const levels, draws = 40, 60 // 780 pairs
	d := levelled(t, levels, 2, 0.1)
	d.Draw = &Draw{Treatments: levels, Drawn: d.Treatments[0].Code, Orders: draws, Sampler: func(chunk int) func([]int32) {
		turn := int32(chunk)
		return func(order []int32) {
			turn++
			for i, code := range d.Treatments[0].Code {
				order[i] = (code*7 + turn*int32(i) + turn) % levels
			}
		}
	}}
	r := judgedAt(t, d, Request{})
	if r.Randomise == nil || r.Randomise.Orders != draws || r.Comparisons[0].PRandom.Known() {
		t.Fatalf("randomisation %+v, comparison %+v; want the overall test alone", r.Randomise, r.Comparisons[0])
	}
	said := false
	for _, c := range r.Checks {
		said = said || c.Name == randomisation && c.Message == "single comparisons are left out: too many for so many orders"
	}
	if !said {
		t.Errorf("checks %+v", r.Checks)
	}
}
