package decimal

import (
	"encoding/json"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairrun/stats/internal/accuracy"
)

// TestAccuracy measures the digits that docs/accuracy.md states: deviations from the centre
// against exact rational arithmetic, logarithms against mpmath.
func TestAccuracy(t *testing.T) {
	page := accuracy.Section{Package: "stats/decimal"}
	files, err := filepath.Glob("../../testdata/nist/*.csv")
	if err != nil || len(files) != 11 {
		t.Fatalf("%d files of NIST's, want 11: %v", len(files), err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var cells []string
		for _, line := range strings.Fields(string(text))[1:] {
			_, cell, _ := strings.Cut(line, ",")
			cells = append(cells, cell)
		}
		offset, dev := column(t, cells...).Centre()
		for i, cell := range cells {
			exact, ok := new(big.Rat).SetString(cell)
			if !ok {
				t.Fatalf("%q is no number", cell)
			}
			exact.Sub(exact, new(big.Rat).SetFloat64(offset))
			want, _ := exact.Float64()
			if e := page.Line("deviation from the centre", "NIST StRD, 11 sets", "rational arithmetic").Add(dev[i], want); e != 0 {
				t.Errorf("%s less %v = %v, want %v", cell, offset, dev[i], want)
			}
		}
	}
	text, err := os.ReadFile("testdata/log.json")
	if err != nil {
		t.Fatal(err)
	}
	var logs []struct {
		Texts      []string
		Difference []float64
	}
	if err := json.Unmarshal(text, &logs); err != nil {
		t.Fatal(err)
	}
	for _, c := range logs {
		_, dev, err := column(t, c.Texts...).LogCentre()
		if err != nil {
			continue // a column that has no logarithm: see TestLogCentre
		}
		size := 0.0
		for _, d := range c.Difference {
			size = max(size, d, -d)
		}
		for i, want := range c.Difference {
			if size > 0 {
				page.Line("difference of logarithms, of the largest", "numbers alike to 15 digits and far apart", "mpmath (log.py)").AddIn(dev[i]-dev[0], want, size)
			}
		}
	}
	page.Check(t)
}
