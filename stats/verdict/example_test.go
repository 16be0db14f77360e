package verdict_test

import (
	"context"
	"fmt"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// thrust is what was measured in newtons: two props on three packs, twice on each.
var thrust = []struct {
	prop, pack int32
	value      string
}{
	{0, 0, "41.2"}, {1, 0, "43.9"}, {1, 0, "43.5"}, {0, 0, "41.0"},
	{1, 1, "44.6"}, {0, 1, "41.9"}, {0, 1, "42.3"}, {1, 1, "44.2"},
	{0, 2, "40.8"}, {1, 2, "43.0"}, {1, 2, "43.4"}, {0, 2, "40.5"},
}

// Two props on three packs: is prop B better by at least 2 %? The margin is a share, so the analysis is that of
// logarithms, and differences are ratios.
func ExampleAnalyse() {
	prop := linmod.Factor{Name: "prop", Levels: []string{"A", "B"}}
	pack := linmod.Factor{Name: "pack", Levels: []string{"1", "2", "3"}}
	values := &decimal.Column{}
	for _, run := range thrust {
		prop.Code, pack.Code = append(prop.Code, run.prop), append(pack.Code, run.pack)
		if err := values.Append([]byte(run.value)); err != nil {
			fmt.Println(err)
			return
		}
	}
	data := verdict.Data{
		Treatments: []linmod.Factor{prop},
		Blocks:     []linmod.Factor{pack},
		Responses: []verdict.Measured{{
			Name: "thrust", Unit: "N", Better: "higher",
			Margin: &verdict.Margin{Value: 0.02, Relative: true}, Scale: verdict.Log, Values: values,
		}},
	}
	v, err := verdict.Analyse(context.Background(), data, verdict.Request{Title: "Props", Scope: "pod thruster no. 3"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range v.Responses[0].Comparisons {
		fmt.Printf("%s against %s: %.1f %% (%.1f to %.1f), %s\n", c.Level, c.Against, c.Percent, c.PercentLow, c.PercentHigh, c.Verdict)
	}
	// Output:
	// B against A: 6.0 % (5.2 to 6.8), matters
}
