package main

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "rewrite testdata/golden/*.csv; only together with a new order.Version")

// TestSameSeedSameSheet holds the sheets of plans with a seed, byte for byte, on every platform. A plan of each kind of order has its
// sheet beside it.
func TestSameSeedSameSheet(t *testing.T) {
	plans, err := filepath.Glob("testdata/golden/*.toml")
	if err != nil || len(plans) < 12 {
		t.Fatalf("%d plans, %v", len(plans), err)
	}
	for _, plan := range plans {
		golden := strings.TrimSuffix(plan, ".toml") + ".csv"
		t.Run(filepath.Base(plan), func(t *testing.T) {
			text, err := os.ReadFile(plan)
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, planFile), text, 0o644); err != nil {
				t.Fatal(err)
			}
			output(t, "sheet", dir)
			got, err := os.ReadFile(filepath.Join(dir, "runsheet.csv"))
			if err != nil {
				t.Fatal(err)
			}
			if *update {
				if err := os.WriteFile(golden, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), string(got)); diff != "" {
				t.Errorf("sheet (-golden +drawn):\n%s", diff)
			}
		})
	}
}
