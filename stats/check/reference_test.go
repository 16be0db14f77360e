package check

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// readReference reads a file of reference values: testdata/r.json was made by
// make.R (R 4.2.2), testdata/exact.json by make.py (exact fractions, mpmath).
func readReference(t testing.TB, name string, into any) {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// number is a float that may be missing (null) in the reference files.
type number float64

func (x *number) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*x = number(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(x))
}

type numbers []number

func plain(x numbers) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(v)
	}
	return out
}

// near reports got within a relative tolerance of want, or both NaN.
func near(got, want, tolerance float64) bool {
	if math.IsNaN(want) {
		return math.IsNaN(got)
	}
	return got == want || math.Abs(got-want) <= tolerance*math.Abs(want)
}

func wantNear(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !near(got, want, tolerance) {
		t.Errorf("%s = %.16g, want %.16g within %g relative", what, got, want, tolerance)
	}
}

// wantResult compares with statistic, df1, df2, p.
func wantResult(t *testing.T, what string, got Result, want []float64, tolerance float64) {
	t.Helper()
	wantNear(t, what+" statistic", got.Statistic, want[0], tolerance)
	wantNear(t, what+" df1", got.DF1, want[1], tolerance)
	wantNear(t, what+" df2", got.DF2, want[2], tolerance)
	wantNear(t, what+" p", got.P, want[3], tolerance)
}
