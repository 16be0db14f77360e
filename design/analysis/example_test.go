package analysis_test

import (
	"context"
	"fmt"
	"math"

	"fairrun/design/analysis"
	"fairrun/design/plan"
	"fairrun/design/sheet"
)

// thruster is a plan of two levels in four packs that sag.
const thruster = `
title = "Field weakening on the pod thruster"
scope = "pod thruster no. 3"
seed = 41

[[factor]]
name = "weakening"
unit = "A"
levels = [0, 8]

[block]
name = "pack"
count = 4
replicates = 3

[drift]
model = "linear"

[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
margin = "2%"
`

// bench is what a run takes, in ms: 8 A of weakening save 20 of 600, each run of a pack costs 3 more than the one
// before, and no run is quite like another.
func bench(r *sheet.Run) float64 {
	spinUp := 600 + 3*float64(r.Position) + 4*math.Sin(float64(r.Run*r.Run))
	if r.Levels[0] == "8" {
		spinUp -= 20
	}
	return spinUp
}

// From a plan to a verdict: the order is drawn, every run is made in its turn, and the sheet is judged. In a folder,
// [sheet.Write] and [sheet.Open] stand in the place of [sheet.Blank].
func Example() {
	p, err := plan.Parse("campaign.toml", []byte(thruster))
	if err != nil {
		fmt.Println(err)
		return
	}
	drawn, err := sheet.NewOrder(p, *p.Seed)
	if err != nil {
		fmt.Println(err)
		return
	}
	s := sheet.Blank(p, drawn)
	for i := range s.Runs {
		r := &s.Runs[i]
		r.Values[0], r.Status = fmt.Sprintf("%.1f", bench(r)), sheet.OK
	}
	v, err := analysis.Verdict(context.Background(), s)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range v.Responses[0].Comparisons {
		fmt.Printf("%s A against %s A: %.1f %% (%.1f to %.1f), %s\n", c.Level, c.Against, c.Percent, c.PercentLow, c.PercentHigh, c.Verdict)
	}
	// Output:
	// 8 A against 0 A: -3.7 % (-4.3 to -3.1), matters
}
