package sheet

import (
	"fmt"
	"testing"

	"fairrun/design/plan"
	"fairrun/design/table"
)

// largeCampaign draws the test campaign with so many packs that it has that many
// runs.
func largeCampaign(b *testing.B, runs int) {
	b.Helper()
	campaign(b)
	blocks := runs / 4
	edit(b, PlanFile, "count = 2", fmt.Sprint("count = ", blocks))
	c, err := plan.Read(PlanFile)
	if err != nil {
		b.Fatal(err)
	}
	d := drawn()
	d.Blocks = nil
	for range blocks {
		d.Blocks = append(d.Blocks, []int{0, 3, 1, 2})
	}
	_, err = Write(".", c, d, drawnAt, table.Dialect{})
	if err != nil {
		b.Fatal(err)
	}
}

func BenchmarkOpen(b *testing.B) {
	for _, runs := range []int{60, 2000, 10_000} {
		b.Run(fmt.Sprint(runs), func(b *testing.B) {
			largeCampaign(b, runs)
			b.ReportAllocs()
			for b.Loop() {
				_, err := Open(".")
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkRecord includes two syncs of the disk.
func BenchmarkRecord(b *testing.B) {
	for _, runs := range []int{60, 2000} {
		b.Run(fmt.Sprint(runs), func(b *testing.B) {
			largeCampaign(b, runs)
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				i++
				_, err := Record(".", 1, values(fmt.Sprint("spin_up=", i)), true, recordedAt)
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
