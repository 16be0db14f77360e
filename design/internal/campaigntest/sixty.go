package campaigntest

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"fairrun/design"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/table"
)

// Sixty is a campaign of 60 runs with 4 responses, all measured.
func Sixty(tb testing.TB) *sheet.Sheet {
	tb.Helper()
	text, err := plan.Starter(plan.Answers{
		Title: "Props", Scope: "pod thruster no. 3",
		Factors: []plan.FactorAnswer{{Name: "prop", Levels: []string{"A", "B", "C", "D", "E"}}},
		Block:   design.Block{Name: "pack", Count: 6, Replicates: 2},
		Drift:   design.Drift{Model: design.DriftLinear},
		Responses: []plan.ResponseAnswer{
			{Name: "spin_up", Unit: "ms", Better: "lower", Margin: "2%"}, {Name: "thrust", Unit: "N", Better: "higher", Margin: "2%"},
			{Name: "input", Unit: "W", Better: "lower", Margin: "15"}, {Name: "temp", Unit: "K", Better: "lower", Margin: "2"},
		},
	})
	if err != nil {
		tb.Fatal(err)
	}
	plan, err := plan.Parse("campaign.toml", text)
	if err != nil {
		tb.Fatal(err)
	}
	drawn, err := sheet.NewOrder(plan, 41)
	if err != nil {
		tb.Fatal(err)
	}
	dir, start := tb.TempDir(), time.Date(2026, time.May, 9, 9, 0, 0, 0, time.UTC)
	if err := os.WriteFile(filepath.Join(dir, sheet.PlanFile), text, 0o666); err != nil {
		tb.Fatal(err)
	}
	if _, err := sheet.Write(dir, plan, drawn, start, table.Dialect{}); err != nil {
		tb.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4))
	for n := range 60 {
		var set []sheet.Assignment
		for _, m := range plan.Responses {
			set = append(set, sheet.Assignment{Name: m.Name, Value: strconv.FormatFloat(500+10*r.NormFloat64(), 'f', 1, 64)})
		}
		if _, err := sheet.Record(dir, n+1, set, false, start.Add(time.Duration(n+1)*time.Minute)); err != nil {
			tb.Fatal(err)
		}
	}
	s, err := sheet.Open(dir)
	if err != nil {
		tb.Fatal(err)
	}
	return s
}
