package sheet_test

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/table"
)

// A campaign is drawn, one run is recorded, and the next is asked for.
func Example() {
	dir, err := os.MkdirTemp("", "campaign")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	text, err := os.ReadFile("testdata/campaign.toml")
	if err != nil {
		fmt.Println(err)
		return
	}
	planFile := filepath.Join(dir, sheet.PlanFile)
	err = os.WriteFile(planFile, text, 0o666)
	if err != nil {
		fmt.Println(err)
		return
	}
	campaign, err := plan.Read(planFile)
	if err != nil {
		fmt.Println(err)
		return
	}

	drawn := &order.Drawn{Seed: 41, Blocks: [][]int{{0, 3, 1, 2}, {2, 1, 3, 0}}}
	at := time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)
	_, err = sheet.Write(dir, campaign, drawn, at, table.Dialect{})
	if err != nil {
		fmt.Println(err)
		return
	}
	set := []sheet.Assignment{{Name: "spin_up", Value: "312.5"}, {Name: "pull", Value: "21.4"}}
	recorded, err := sheet.Record(dir, 1, set, false, at.Add(30*time.Minute))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(recorded.Run.Run, recorded.Run.Status, recorded.Run.Values)
	fmt.Println("next:", recorded.Next.Run, campaign.Treatments()[recorded.Next.Treatment])
	// Output:
	// 1 ok [312.5 21.4]
	// next: 2 2.5 B
}
