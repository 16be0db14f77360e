package size_test

import (
	"math"
	"testing"

	"fairrun/design/internal/campaigntest"
	"fairrun/design/size"
)

// TestSameRuns has 8 runs of each of four levels shared out over packs find a difference of twice the noise as often as
// campaigns simulated apart from this project do, in numpy, where packs answer levels differently by half the noise.
func TestSameRuns(t *testing.T) {
	plan := `title = "a"
scope = "b"
seed = 7
[[factor]]
name = "weakening"
levels = [0, 4, 8, 12]
[[response]]
name = "pull"
better = "higher"
margin = 2
noise = 1
[block]
count = 4
replicates = 2
[drift]
model = "none"
`
	r, err := size.Ask{}.Before(t.Context(), campaigntest.Parsed(t, plan))
	if err != nil {
		t.Fatal(err)
	}
	got := r.Responses[0].Sizes[0].SameRuns
	want := []size.Arrangement{{Blocks: 8, Replicates: 1, Power: 0.7757}, {Blocks: 4, Replicates: 2, Power: 0.5769}, {Blocks: 2, Replicates: 4, Power: 0.2328}}
	if len(got) != len(want) {
		t.Fatalf("%d ways to share the runs out, want %d: %+v", len(got), len(want), got)
	}
	for i, w := range want {
		if g := got[i]; g.Blocks != w.Blocks || g.Replicates != w.Replicates || math.Abs(float64(g.Power-w.Power)) > 0.002 {
			t.Errorf("%+v, want %+v", g, w)
		}
	}
}
