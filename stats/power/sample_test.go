package power

import (
	"math"
	"testing"

	"fairrun/stats/compare"
)

// TestSampleOfBlocks has the power of blocks that are a sample agree with values computed apart from this project, in numpy,
// by simulation of some 10,000 campaigns: four levels, all pairs, a difference of twice the noise.
func TestSampleOfBlocks(t *testing.T) {
	for _, c := range []struct {
		blocks, replicates int
		interplay, want    float64
	}{
		{8, 1, 0, 0.8739}, {8, 1, 0.25, 0.8498}, {8, 1, 0.5, 0.7757}, {8, 1, 1, 0.5278},
		{4, 2, 0, 0.7833}, {4, 2, 0.25, 0.7258}, {4, 2, 0.5, 0.5769}, {4, 2, 1, 0.2800},
		{2, 4, 0, 0.4401}, {2, 4, 0.25, 0.3617}, {2, 4, 0.5, 0.2328}, {2, 4, 1, 0.0988},
	} {
		d := Design{Treatments: 4, Blocks: c.blocks, Replicates: c.replicates, Sample: true, Interplay: c.interplay}
		got, err := Test{Family: compare.Pairs{Levels: 4}, Alpha: 0.05}.Power(2, 1, d.Precision())
		if err != nil || math.Abs(got-c.want) > 0.002 {
			t.Errorf("%d blocks of %d, interplay %v: power %.4f, %v, want %.4f", c.blocks, c.replicates, c.interplay, got, err, c.want)
		}
	}
}
