package law

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"fairrun/stats/internal/accuracy"
)

// grid reads testdata/name: a header, then numbers.
func grid(t testing.TB, name string) [][]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	reader := csv.NewReader(f)
	reader.FieldsPerRecord = -1
	records, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(records) < 2 {
		t.Fatalf("%s: no values", name)
	}
	rows := make([][]float64, 0, len(records)-1)
	for i, record := range records[1:] {
		row := make([]float64, len(record))
		for j, text := range record {
			// A tail below the range of floating-point numbers reads as 0.
			if row[j], err = strconv.ParseFloat(text, 64); err != nil && row[j] != 0 {
				t.Fatalf("%s: row %d: %v", name, i+2, err)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// worst keeps the largest relative error of a set of comparisons.
type worst struct {
	points int
	err    float64
	at     []float64
	got    float64
	want   float64
}

// add compares got with want, a probability; one below 1e-300 is not asked for.
func (w *worst) add(got, want float64, at ...float64) { w.addAbove(1e-300, got, want, at...) }

// addAbove compares got with want unless want is below least.
func (w *worst) addAbove(least, got, want float64, at ...float64) {
	if want < least {
		return
	}
	w.points++
	e := math.Abs(got-want) / want
	if math.IsNaN(got) {
		e = math.Inf(1)
	}
	if e > w.err || w.at == nil {
		*w = worst{w.points, e, at, got, want}
	}
}

// TestAccuracy compares every law with its grid, and the digits reached with
// docs/accuracy.md.
func TestAccuracy(t *testing.T) {
	page := &accuracy.Section{Package: "stats/law"}
	t.Run("central", func(t *testing.T) { accuracyCentral(t, page) })
	t.Run("noncentral", func(t *testing.T) { accuracyNoncentral(t, page) })
	t.Run("maxima", func(t *testing.T) { accuracyMaxima(t, page) })
	t.Run("joint", func(t *testing.T) { accuracyJoint(t, page) })
	page.Check(t)
}

// report puts one line on the page and fails if the error passes the tolerance.
func (w *worst) report(t *testing.T, page *accuracy.Section, law, region, maker string, tolerance float64) {
	t.Helper()
	page.Line(law, region, maker).AddMany(w.points, w.err)
	if w.points == 0 {
		t.Errorf("%s: no points", law)
	}
	if w.err > tolerance {
		t.Errorf("%s at %v = %.17g, want %.17g: relative error %.2e, tolerance %.0e", law, w.at, w.got, w.want, w.err, tolerance)
	}
}

// accuracyCentral compares T, F, ChiSquared and Beta with the values of
// testdata/central.py.
func accuracyCentral(t *testing.T, page *accuracy.Section) {
	const maker = "series at 370 digits (central.py)"
	const region = "both tails, 1 to 1e-300"
	var w worst
	for _, r := range grid(t, "t.csv") {
		law := T{DF: r[0]}
		w.add(law.CDF(r[1]), r[2], r...)
		w.add(law.Survival(r[1]), r[3], r...)
	}
	w.report(t, page, "T", region, maker, 3e-13)
	w = worst{}
	for _, r := range grid(t, "f.csv") {
		law := F{D1: r[0], D2: r[1]}
		w.add(law.CDF(r[2]), r[3], r...)
		w.add(law.Survival(r[2]), r[4], r...)
	}
	w.report(t, page, "F", region, maker, 3e-13)
	w = worst{}
	for _, r := range grid(t, "chisquared.csv") {
		law := ChiSquared{DF: r[0]}
		w.add(law.CDF(r[1]), r[2], r...)
		w.add(law.Survival(r[1]), r[3], r...)
	}
	w.report(t, page, "ChiSquared", region, maker, 3e-13)
	w = worst{}
	for _, r := range grid(t, "beta.csv") {
		law := Beta{A: r[0], B: r[1]}
		w.add(law.CDF(r[2]), r[3], r...)
		w.add(law.Survival(r[2]), r[4], r...)
	}
	w.report(t, page, "Beta", region, maker, 3e-13)
}
