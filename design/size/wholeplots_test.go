package size

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairrun/design/internal/campaigntest"
)

// Where whole plots are alike, the precision of an order is that of the formula.
func TestPrecisionOfWholePlotsByOrder(t *testing.T) {
	plan := strings.Replace(fmt.Sprintf(campaigntest.StrataPlan, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true"), "count = 2", "count = 6", 1) +
		"margin = 3\nnoise = 2\n"
	for _, interactions := range []string{"false", "true"} {
		c := campaigntest.Parsed(t, strings.Replace(plan, "interactions = false", "interactions = "+interactions, 1))
		drawn := seedOrder(c)
		for _, spread := range []float64{0, 1, 3} {
			for _, f := range familiesOf(c, kept(c, drawn)) {
				byOrder, known := f.precisionOf(drawn, spread)
				if !known {
					t.Fatalf("%s: no precision", f.name())
				}
				for _, blocks := range []int{6, 7, 20} {
					got, want := byOrder.At(blocks), f.byBlocks(spread).At(blocks)
					if math.Abs(got.SE-want.SE) > 1e-9 || got.DF != want.DF {
						t.Errorf("interactions %s, %s, spread %v, %d blocks: %+v by the order, %+v by the formula", interactions, f.name(), spread, blocks, got, want)
					}
				}
			}
		}
	}
}

// Carry-over in the model takes precision and degrees of freedom from an order in whole plots.
func TestPrecisionOfWholePlotsWithCarryOver(t *testing.T) {
	plan := strings.Replace(fmt.Sprintf(campaigntest.StrataPlan, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true"), "count = 2", "count = 6", 1) +
		"margin = 3\nnoise = 2\n"
	plain, carried := campaigntest.Parsed(t, plan), campaigntest.Parsed(t, plan+"[order]\ncarry_over = true\n")
	drawn := seedOrder(carried)
	for k, f := range familiesOf(carried, kept(carried, drawn)) {
		f.drawn = drawn
		got, without := f.byBlocks(1).At(6), familiesOf(plain, 1)[k].byBlocks(1).At(6)
		if taken := map[bool]float64{true: 0, false: 2}[f.between()]; !(got.SE > without.SE) || got.DF != without.DF-taken {
			t.Errorf("%s: %+v with carry-over in the model, %+v without", f.name(), got, without)
		}
	}
}
