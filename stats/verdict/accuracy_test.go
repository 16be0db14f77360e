package verdict

import (
	"context"
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/internal/accuracy"
	"fairrun/stats/linmod"
)

// onR is where most lines were measured.
const onR = "data sets of R"

// TestAccuracy compares whole verdicts with outside references, and the digits
// they reach with docs/accuracy.md.
func TestAccuracy(t *testing.T) {
	page := &accuracy.Section{Package: "stats/verdict"}
	t.Run("nist", func(t *testing.T) { referenceNIST(t, page) })
	t.Run("model", func(t *testing.T) { referenceModel(t, page) })
	t.Run("pairs", func(t *testing.T) { referencePairs(t, page) })
	t.Run("baseline", func(t *testing.T) { referenceBaselines(t, page) })
	t.Run("checks", func(t *testing.T) { referenceChecks(t, page) })
	page.Check(t)
}

// referenceNIST judges the 11 NIST StRD sets from their decimal text and reads F from
// the JSON, as a user of the command line gets it.
func referenceNIST(t *testing.T, page *accuracy.Section) {
	const folder = "../../testdata/nist"
	text, err := os.ReadFile(filepath.Join(folder, "certified.json"))
	if err != nil {
		t.Fatal(err)
	}
	var sets map[string]struct {
		File  string
		Exact struct{ F string }
	}
	if err := json.Unmarshal(text, &sets); err != nil {
		t.Fatal(err)
	}
	if len(sets) != 11 {
		t.Fatalf("%d sets, want 11", len(sets))
	}
	for _, name := range slices.Sorted(maps.Keys(sets)) {
		columns := readColumns(t, filepath.Join(folder, sets[name].File))
		v, err := Analyse(context.Background(), Data{
			Treatments: []linmod.Factor{factorOf("treatment", columns["treatment"])},
			Responses:  []Measured{{Name: "response", Scale: Raw, Values: decimals(t, columns["response"])}},
		}, Request{})
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var back Verdict
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		want, err := strconv.ParseFloat(sets[name].Exact.F, 64)
		if err != nil {
			t.Fatal(err)
		}
		got := float64(back.Responses[0].Overall.F)
		if e := page.Line("F", "NIST StRD "+name, "exact rational arithmetic (make.py)").Add(got, want); !(e <= 1e-13) {
			t.Errorf("%s: F = %v, want %v", name, got, want)
		}
	}
}

// TestDecimalText: a common part of 1e12 in the text of the readings costs no digit.
func TestDecimalText(t *testing.T) {
	const head, shared = "1000000000000", "0"
	judge := func(prefix string) Number {
		var y decimal.Column
		f := linmod.Factor{Name: "prop", Levels: []string{"A", "B"}}
		for i, digits := range strings.Fields("11 14 12 19 16 17") {
			if err := y.Append([]byte(prefix + "." + digits)); err != nil {
				t.Fatal(err)
			}
			f.Code = append(f.Code, int32(i/3))
		}
		v, err := Analyse(context.Background(), Data{Treatments: []linmod.Factor{f}, Responses: []Measured{{Name: "y", Scale: Raw, Values: &y}}}, Request{})
		if err != nil {
			t.Fatal(err)
		}
		return v.Responses[0].Overall.F
	}
	// In hundredths the means are 37/3 and 52/3, the sums of squares within 14/3 each:
	// F = 3/2·25 / (28/3/4) = 225/14.
	for _, prefix := range []string{shared, head} {
		if got := float64(judge(prefix)); !(got > 225.0/14*(1-1e-14) && got < 225.0/14*(1+1e-14)) {
			t.Errorf("with %s before the point F = %.17g, want %.17g", prefix, got, 225.0/14)
		}
	}
}
