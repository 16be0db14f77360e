package power

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"fairrun/stats/compare"
)

// reference is testdata/reference.json: values made by testdata/reference.py
// with mpmath at 22 to 30 digits (Tukey's and Dunnett's critical values by
// float64 quadrature good to 1e-12). Degrees of freedom of 0 stand for +Inf.
type reference struct {
	Power []struct {
		famref
		DF, Delta, Critical, Power, Inside float64
	}
	Words []struct {
		famref
		DF, Margin, Truth float64
		Words             [5]float64
	}
	Assurance []struct {
		famref
		DF        float64
		NoiseDF   float64 `json:"noise_df"`
		Margin    float64
		Assurance float64
	}
	Noise []struct {
		DF, Confidence, Low, High, Upper float64
	}
	Constants []struct {
		Looks           int
		Kind            string
		Alpha, Constant float64
	}
	Looks []struct {
		Spending            string
		Alpha               float64
		Final               bool
		Fractions, Spent, Z []float64
		Level               []float64
	}
	Crossing []struct {
		Spending  string
		Alpha     float64
		Fractions []float64
		Delta     float64
		Crossing  []float64
	}
	FalseAlarms []struct {
		Level  float64
		Looks  int
		Chance float64
	} `json:"false_alarms"`
	Inflation []struct {
		Spending         string
		Fractions        []float64
		Power, Inflation float64
	}
}

// famref names a family in a reference file.
type famref struct {
	Family string
	Levels int
	Alpha  float64
}

func (f famref) comparison(t *testing.T) Test {
	t.Helper()
	c := Test{Alpha: f.Alpha}
	switch f.Family {
	case "single":
		c.Family = compare.Single{}
	case "pairs":
		c.Family = compare.Pairs{Levels: f.Levels}
	case "baseline":
		c.Family = compare.Baseline{Levels: f.Levels}
	case "best":
		c.Family = compare.Best{Levels: f.Levels}
	default:
		t.Fatalf("unknown family %q", f.Family)
	}
	return c
}

func spendingNamed(t *testing.T, name string) Spending {
	t.Helper()
	switch name {
	case "obrien-fleming":
		return OBrienFleming
	case "pocock":
		return Pocock
	}
	t.Fatalf("unknown spending %q", name)
	return 0
}

// readJSON fills v from a file of testdata, and fails if a list it asks for is empty.
func readJSON(t *testing.T, name string, v any) {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, v); err != nil {
		t.Fatal(err)
	}
}

func readReference(t *testing.T) *reference {
	t.Helper()
	var r reference
	readJSON(t, "reference.json", &r)
	if len(r.Power) == 0 || len(r.Words) == 0 || len(r.Assurance) == 0 || len(r.Noise) == 0 || len(r.Constants) == 0 ||
		len(r.Looks) == 0 || len(r.Crossing) == 0 || len(r.FalseAlarms) == 0 || len(r.Inflation) == 0 {
		t.Fatal("reference.json lacks a list")
	}
	return &r
}

func infinite(df float64) float64 {
	if df == 0 {
		return math.Inf(1)
	}
	return df
}

// near reports whether got is within tol of want: relative above 1, absolute below.
func near(got, want, tol float64) bool {
	return math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))
}

// relative reports whether got is within a relative error of tol of want.
func relative(got, want, tol float64) bool {
	return math.Abs(got-want) <= tol*math.Abs(want)
}
