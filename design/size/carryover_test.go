package size

import (
	"math"
	"strings"
	"testing"

	"fairrun/design/plan"
)

// williamsPlan is four settings in eight packs.
const williamsPlan = `title = "Field weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 4, 8, 12]
[block]
name = "pack"
count = 8
replicates = 1
[order]
carry_over = true
[[response]]
name = "pull"
better = "higher"
margin = 3
noise = 2
`

// Four settings in Williams squares keep 90.9 % and give up three degrees of freedom: of eight packs a difference has the
// variance 0.275 in place of 0.25 (reference/methods/refs2.json, 5).
func TestCarryOverCosts(t *testing.T) {
	for drift, df := range map[string]float64{"linear": 32 - 8 - 1 - 3, "position": 32 - 8 - 3 - 3} {
		text := williamsPlan + "[drift]\nmodel = \"" + drift + "\"\n"
		for _, carried := range []bool{true, false} {
			want, rest := 0.25, df
			if !carried && drift == "linear" {
				continue // the order is not balanced over positions then
			}
			if !carried {
				text = strings.Replace(text, "carry_over = true", "carry_over = false", 1)
			} else {
				want, rest = 0.275, df-3
			}
			c, err := plan.Parse("campaign.toml", []byte(text))
			if err != nil {
				t.Fatal(err)
			}
			f := familiesOf(c, kept(c, seedOrder(c)))[0]
			f.design.Sample = false
			if got := f.byBlocks(0).At(8); math.Abs(got.SE*got.SE-want) > 1e-9 || got.DF != rest {
				t.Errorf("%s, carry-over %v: variance %v with %v degrees of freedom, want %v with %v", drift, carried, got.SE*got.SE, got.DF, want, rest)
			}
		}
	}
}
