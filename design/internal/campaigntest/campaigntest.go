// Package campaigntest makes plans, drawn sheets and sheets with results for tests.
//
// In: the text of a plan, and functions that say what was measured. Out: the plan, its sheet as drawn, the sheet
// filled in. Read campaigntest.go first.
package campaigntest

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/table"
)

// Parsed reads a plan.
func Parsed(t testing.TB, text string) *design.Plan {
	t.Helper()
	c, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Drawn draws the order of a plan.
func Drawn(t testing.TB, text string) *sheet.Sheet {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, sheet.PlanFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	c, err := plan.Read(filepath.Join(dir, sheet.PlanFile))
	if err != nil {
		t.Fatal(err)
	}
	d, err := sheet.NewOrder(c, 7)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sheet.Write(dir, c, d, time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC), table.Dialect{}); err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Filled is the sheet of a plan whose blocks hold the treatments given, with the values of its one response by
// run.
func Filled(t testing.TB, text string, blocks [][]int, values []float64) *sheet.Sheet {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, sheet.PlanFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	c, err := plan.Read(filepath.Join(dir, sheet.PlanFile))
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)
	d := &order.Drawn{Version: order.Version, Plan: sheet.OrderPlan(c), Blocks: blocks}
	if _, err := sheet.Write(dir, c, d, at, table.Dialect{}); err != nil {
		t.Fatal(err)
	}
	for i, v := range values {
		set := []sheet.Assignment{{Name: c.Responses[0].Name, Value: fmt.Sprint(v)}}
		if _, err := sheet.Record(dir, i+1, set, false, at.Add(time.Duration(i+1)*time.Minute)); err != nil {
			t.Fatal(err)
		}
	}
	s, err := sheet.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Measured is the sheet of a plan, drawn, extended and filled with the values of a
// function of the run.
func Measured(t testing.TB, text string, extensions []int, value func(r *sheet.Run) string) *sheet.Sheet {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, sheet.PlanFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	c, err := plan.Read(filepath.Join(dir, sheet.PlanFile))
	if err != nil {
		t.Fatal(err)
	}
	d, err := sheet.NewOrder(c, 41)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, time.May, 9, 9, 0, 0, 0, time.UTC)
	drawn := fmt.Sprintf("count = %d\n", c.Block.Count)
	for i, n := range extensions {
		if d, err = order.Extend(d, n, uint64(42+i)); err != nil {
			t.Fatal(err)
		}
		c.Block.Count += n
	}
	text = strings.Replace(text, drawn, fmt.Sprintf("count = %d\n", c.Block.Count), 1)
	if err := os.WriteFile(filepath.Join(dir, sheet.PlanFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := sheet.Write(dir, c, d, at, table.Dialect{}); err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	Fill(t, dir, s, value)
	if s, err = sheet.Open(dir); err != nil {
		t.Fatal(err)
	}
	return s
}

// Fill writes values, and "failed" or "void" as status, into the sheet of a folder.
func Fill(t testing.TB, dir string, s *sheet.Sheet, value func(r *sheet.Run) string) {
	t.Helper()
	path := filepath.Join(dir, sheet.File)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	head := strings.Split(lines[0], ",")
	column := func(name string) int { return slices.Index(head, name) }
	for i := range s.Runs {
		cells := strings.Split(lines[i+1], ",")
		switch v := value(&s.Runs[i]); v {
		case "failed", "void":
			cells[column("status")] = v
			cells[column("note")] = "cable"
		default:
			cells[column(s.Campaign.Responses[0].Name)] = v
		}
		lines[i+1] = strings.Join(cells, ",")
	}
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
}
