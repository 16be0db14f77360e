package analysis

import (
	"bytes"
	"fmt"
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
	"fairrun/stats/verdict"
)

// results is a file of results with 8 levels, 50 blocks and a covariate.
func results(rows int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	var b bytes.Buffer
	b.WriteString("pack,start_temp,prop,thrust,note\n")
	for range rows {
		level, block, temp := r.IntN(8), r.IntN(50), 20+3*r.NormFloat64()
		fmt.Fprintf(&b, "%d,%.1f,prop %c,%.3f,ok\n", block+1, temp, 'A'+level, 100+0.1*float64(level)+0.2*float64(block)+0.05*temp+5*r.NormFloat64())
	}
	return b.Bytes()
}

// BenchmarkFile is "verdict --data" without the start of the process. What is
// promised for 100,000 rows is 0.7 s and 200 MB.
func BenchmarkFile(b *testing.B) {
	for _, rows := range []int{10_000, 100_000, 1_000_000} {
		b.Run(strconv.Itoa(rows), func(b *testing.B) {
			if rows > 100_000 && testing.Short() {
				b.Skip("short")
			}
			text := results(rows)
			q := FileQuestion{Responses: []string{"thrust"}, Treatments: []string{"prop"}, Blocks: []string{"pack"}, Covariates: []string{"start_temp"},
				Margin: &verdict.Margin{Value: 0.02, Relative: true}, Better: "higher"}
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := q.Judge("results.csv", bytes.NewReader(text)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkCampaign is "verdict" on 60 runs and 4 responses without the start
// of the process. What is promised is 150 ms.
func BenchmarkCampaign(b *testing.B) {
	s := campaign(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Verdict(s); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkReplicates is "replicates" after results on the same campaign.
func BenchmarkReplicates(b *testing.B) {
	s := campaign(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := (Ask{}).After(s); err != nil {
			b.Fatal(err)
		}
	}
}

// campaign is a campaign of 60 runs with 4 responses, all measured.
func campaign(tb testing.TB) *sheet.Sheet {
	tb.Helper()
	text, err := plan.Starter(plan.Answers{
		Title: "Props", Scope: "pod thruster no. 3",
		Factors: []plan.FactorAnswer{{Name: "prop", Levels: []string{"A", "B", "C", "D", "E"}}},
		Block:   design.Block{Name: "pack", Count: 6, Replicates: 2},
		Drift:   design.Drift{Model: design.DriftLinear, Shared: true},
		Responses: []plan.ResponseAnswer{
			{Name: "spin_up", Unit: "ms", Better: "lower", Margin: "2%"}, {Name: "thrust", Unit: "N", Better: "higher", Margin: "2%"},
			{Name: "power", Unit: "W", Better: "lower", Margin: "15"}, {Name: "temp", Unit: "K", Better: "lower", Margin: "2"},
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
	if err := sheet.Write(dir, plan, drawn, start, table.Dialect{}); err != nil {
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
