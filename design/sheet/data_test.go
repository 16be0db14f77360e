package sheet

import (
	"math"
	"testing"

	"fairrun/stats/linmod"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// What the analysis is given: a value for each ok run, codes for all.
func TestData(t *testing.T) {
	drawnCampaign(t)
	write(t, File, filledSheet)
	s, err := Open(".")
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	equal := func(name string, want, got any) {
		t.Helper()
		if diff := cmp.Diff(want, got, cmpopts.EquateNaNs()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
	equal("spin_up", []float64{312.5, nan, 305, nan, 290, nan, nan, nan}, s.Response("spin_up").Floats())
	equal("pull", []float64{21.4, nan, nan, nan, nan, nan, nan, nan}, s.Response("pull").Floats())
	equal("start_volts", []float64{25.2, 25.1, 24.9, 24.8, 25.2, nan, nan, nan}, s.Reading("start_volts").Floats())
	equal("factors", []linmod.Factor{
		{Name: "weakening", Levels: []string{"0", "2.5"}, Code: []int32{0, 1, 0, 1, 1, 0, 1, 0}},
		{Name: "prop", Levels: []string{"A", "B"}, Code: []int32{0, 1, 1, 0, 0, 1, 1, 0}},
	}, s.Factors())
	equal("blocks", linmod.Factor{Name: "pack", Levels: []string{"1", "2"}, Code: []int32{0, 0, 0, 0, 1, 1, 1, 1}}, s.Blocks())
}
