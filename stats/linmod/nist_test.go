package linmod_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

const nist = "../../testdata/nist"

// certified is an entry of certified.json: the values that NIST certifies, and
// the same recomputed in exact arithmetic.
type certified struct {
	File             string
	Certified, Exact struct {
		Between, Within struct {
			DF int
			SS string
		}
		F string
	}
}

// readNIST returns the treatments of a set, and its response as deviations from
// an offset subtracted exactly.
func readNIST(t testing.TB, file string) (linmod.Factor, []float64) {
	t.Helper()
	f, err := os.Open(filepath.Join(nist, file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	treatment := linmod.Factor{Name: "treatment"}
	index := make(map[string]int32)
	var response decimal.Column
	for _, r := range records[1:] {
		code, ok := index[r[0]]
		if !ok {
			code = int32(len(treatment.Levels))
			index[r[0]] = code
			treatment.Levels = append(treatment.Levels, r[0])
		}
		treatment.Code = append(treatment.Code, code)
		if err := response.Append([]byte(r[1])); err != nil {
			t.Fatal(err)
		}
	}
	_, dev := response.Centre()
	return treatment, dev
}

// digits returns the number of decimal digits in which got agrees with want.
func digits(t *testing.T, got float64, want string) float64 {
	t.Helper()
	w, err := strconv.ParseFloat(want, 64)
	if err != nil {
		t.Fatal(err)
	}
	return -math.Log10(max(math.Abs(got-w)/math.Abs(w), 1e-16))
}

func TestNIST(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(nist, "certified.json"))
	if err != nil {
		t.Fatal(err)
	}
	var sets map[string]certified
	if err := json.Unmarshal(data, &sets); err != nil {
		t.Fatal(err)
	}
	if len(sets) != 11 {
		t.Fatalf("%d sets, want 11", len(sets))
	}
	for name, want := range sets {
		t.Run(name, func(t *testing.T) {
			treatment, y := readNIST(t, want.File)
			r, err := linmod.Fit(linmod.Model{Factors: []linmod.Factor{treatment}}, y)
			if err != nil {
				t.Fatal(err)
			}
			row := r.ANOVA()[0]
			if row.DF != want.Exact.Between.DF || r.DF != want.Exact.Within.DF {
				t.Fatalf("df %d and %d, want %d and %d", row.DF, r.DF, want.Exact.Between.DF, want.Exact.Within.DF)
			}
			f := row.SS / float64(row.DF) / r.Sigma2
			exact := digits(t, f, want.Exact.F)
			t.Logf("F right to %.1f digits, between %.1f, within %.1f", exact,
				digits(t, row.SS, want.Exact.Between.SS), digits(t, r.RSS, want.Exact.Within.SS))
			if exact < 14 {
				t.Errorf("F = %v, exactly %s: %.1f digits, want 14", f, want.Exact.F, exact)
			}
			if d := digits(t, f, want.Certified.F); d < 13 {
				t.Errorf("F = %v, certified %s: %.1f digits, want 13", f, want.Certified.F, d)
			}
		})
	}
}
