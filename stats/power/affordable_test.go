package power

import "testing"

func TestAffordable(t *testing.T) {
	for _, r := range []struct{ runs, want int }{{0, 200}, {6, 200}, {10, 200}, {11, 220}, {48, 960}} {
		if got := Affordable(r.runs); got != r.want {
			t.Errorf("Affordable(%d) = %d, want %d", r.runs, got, r.want)
		}
	}
}
