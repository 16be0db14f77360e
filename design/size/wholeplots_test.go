package size_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/internal/campaigntest"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

func TestReplicatesOfUnlikeWholePlots(t *testing.T) {
	plan := strings.Replace(fmt.Sprintf(campaigntest.StrataPlan, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true"), "count = 2", "count = 6", 1) +
		"margin = 3\nnoise = 2\n"
	for _, interactions := range []string{"false", "true"} {
		plan := strings.Replace(plan, "interactions = false", "interactions = "+interactions, 1)
		before := func(plan string) size.ResponseSize {
			r, err := size.Ask{}.Before(t.Context(), campaigntest.Parsed(t, plan))
			if err != nil {
				t.Fatal(err)
			}
			return r.Responses[0]
		}
		want, got := before(plan), before(plan+"[order]\ncarry_over = true\n")
		near := cmp.Comparer(func(a, b verdict.Number) bool {
			return math.Abs(float64(a-b)) < 1e-9 || !a.Known() && !b.Known()
		})
		if diff := cmp.Diff(want, got, near); diff != "" {
			t.Errorf("interactions %s (-formula +order):\n%s", interactions, diff)
		}
	}
}
