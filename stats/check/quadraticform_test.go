package check

import (
	"math"
	"testing"
)

func TestQuadraticFormTails(t *testing.T) {
	for _, c := range []struct {
		name         string
		lambda       []float64
		below, above float64
	}{
		// χ²₁ against χ²₁: symmetric.
		{"symmetric", []float64{1, -1}, 0.5, 0.5},
		// aχ²₂ > bχ²₂, exponentials: P(Q > 0) = a/(a+b).
		{"exponentials", []float64{3, 3, -1, -1, 0}, 0.25, 0.75},
		{"far tail", []float64{1e-9, 1e-9, -1, -1}, 1 / (1 + 1e-9), 1e-9 / (1 + 1e-9)},
		// χ²₁·tan²θ > χ²₁ is an angle: P = 1 − 2θ'/π.
		{"an angle", []float64{3, -1}, 1.0 / 3, 2.0 / 3},
		// aχ²₂ > Σ of four χ²₂: P = (a/(1+a))⁴, 1 − that below.
		{"gamma", []float64{1e-3, 1e-3, -1, -1, -1, -1, -1, -1, -1, -1}, 1 - math.Pow(1e-3/1.001, 4), math.Pow(1e-3/1.001, 4)},
		{"all up", []float64{1, 0, 2}, 0, 1},
		{"all down", []float64{-1, 0}, 1, 0},
		{"nothing", []float64{0}, 0, 0},
	} {
		below, above := quadraticFormTails(c.lambda)
		wantNear(t, c.name+" below", below, c.below, 1e-11)
		wantNear(t, c.name+" above", above, c.above, 1e-11)
	}
}
