package design_test

import (
	"testing"

	"fairrun/design"
)

func TestProposedDrift(t *testing.T) {
	for _, c := range []struct {
		treatments, blocks, runs int
		want                     string
	}{
		{4, 8, 4, design.DriftPosition},
		{4, 4, 8, design.DriftPosition},
		{5, 5, 5, design.DriftPosition},
		{4, 3, 8, design.DriftCurve},
		{8, 4, 16, design.DriftCurve},
		{6, 1, 18, design.DriftCurve},
		{6, 1, 12, design.DriftQuadratic}, // too few runs for a curve
		{5, 4, 5, design.DriftPosition},   // too short for a curve
		{4, 2, 4, design.DriftLinear},     // too few for more
		{2, 2, 4, design.DriftLinear},
		{3, 3, 3, design.DriftLinear},
		{3, 2, 6, design.DriftCurve},
	} {
		if got := design.ProposedDrift(c.treatments, c.blocks, c.runs); got != c.want {
			t.Errorf("%d treatments, %d blocks of %d runs: %s, want %s", c.treatments, c.blocks, c.runs, got, c.want)
		}
	}
}
