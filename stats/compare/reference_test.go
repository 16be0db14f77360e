package compare

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// reference holds values made by testdata/make.R.
type reference struct {
	Hedges []struct {
		Difference, SE, SD, DF, Alpha float64
		G, Low, High                  float64
	}
	Fieller []struct {
		D, M, C, Cov     float64
		VarD             float64 `json:"var_d"`
		VarM             float64 `json:"var_m"`
		Value, Low, High float64
	}
}

func readReference(t *testing.T) reference {
	t.Helper()
	text, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var r reference
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*max(1, math.Abs(want))) {
		t.Errorf("%s = %.15g, want %.15g", what, got, want)
	}
}

// TestStandardise: R's pt with a noncentrality and uniroot are good to about 1e-9.
func TestStandardise(t *testing.T) {
	for _, c := range readReference(t).Hedges {
		g := Standardise(c.Difference, c.SE, c.SD, c.DF, c.Alpha)
		near(t, "g", g.G, c.G, 1e-13)
		near(t, "g low", g.Low, c.Low, 1e-8)
		near(t, "g high", g.High, c.High, 1e-8)
	}
}

func TestPercent(t *testing.T) {
	for _, c := range readReference(t).Fieller {
		value, low, high := Percent(c.D, c.M, c.VarD, c.VarM, c.Cov, c.C)
		near(t, "value", value, c.Value, 1e-12)
		near(t, "low", low, c.Low, 1e-9)
		near(t, "high", high, c.High, 1e-9)
	}
}
