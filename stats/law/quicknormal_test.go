package law

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestQuickNormal compares with the functions that it stands for.
func TestQuickNormal(t *testing.T) {
	n := quickNormals()
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-9, 38).Draw(t, "x")
		if got, want := n.upper(x), normalTail(x); math.Abs(got-want) > 1e-9*want {
			t.Fatalf("upper(%v) = %v, want %v", x, got, want)
		}
		p := math.Exp(-rapid.Float64Range(0, 60).Draw(t, "-log p"))
		for _, p := range []float64{p, 1 - p} {
			if got, want := n.upperQuantile(p), normalUpperQuantile(p); !(got == want) && math.Abs(got-want) > 1e-9 {
				t.Fatalf("upperQuantile(%v) = %v, want %v", p, got, want)
			}
		}
	})
}

// TestLattice: one coordinate alone has every point once, whatever the number of points, and the mean
// of a smooth periodic function of five is right.
func TestLattice(t *testing.T) {
	const dims = 5
	shift, u := make([]float64, dims), make([]float64, dims)
	for _, points := range []int{64, 1024} {
		l := newLattice(points, dims)
		seen := map[[2]int]bool{}
		mean := 0.0
		for k := range points {
			l.at(k, shift, u)
			f := 1.0
			for d, v := range u {
				seen[[2]int{d, int(v * float64(points))}] = true
				f *= 1 + math.Cos(2*math.Pi*v)/2
			}
			mean += f / float64(points)
		}
		if len(seen) != dims*points {
			t.Errorf("%d points: %d different coordinates, want %d", points, len(seen), dims*points)
		}
		if math.Abs(mean-1) > 1e-12 {
			t.Errorf("%d points: mean %v, want 1", points, mean)
		}
	}
}
