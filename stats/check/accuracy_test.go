package check

import (
	"encoding/json"
	"os"
	"testing"

	"fairrun/stats/internal/accuracy"
)

// TestAccuracy measures the digits that docs/accuracy.md states.
func TestAccuracy(t *testing.T) {
	page := &accuracy.Section{Package: "stats/check"}
	accuracyFailures(t, page)
	accuracyPairs(t, page)
	accuracyOrder(t, page)
	page.Check(t)
}

// accuracyFailures: testdata/r/failures.json, made by failures.py with mpmath.
func accuracyFailures(t *testing.T, page *accuracy.Section) {
	text, err := os.ReadFile("../../testdata/r/failures.json")
	if err != nil {
		t.Fatal(err)
	}
	type ends struct {
		Low  float64 `json:"low_precise"`
		High float64 `json:"high_precise"`
	}
	var ref struct {
		Proportions []struct {
			Failed, Runs   int
			Confidence     float64
			ClopperPearson ends `json:"clopper_pearson"`
			Wilson         ends
		}
		Fisher []struct {
			Failed, Runs []int
			P            float64 `json:"p_precise"`
		}
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	const grid, maker = "grid of counts, 1 to 100,000 runs", "mpmath (failures.py)"
	hold := func(quantity string, got Interval, want ends) {
		t.Helper()
		l := page.Line(quantity, grid, maker)
		if e := max(l.Add(got.Low, want.Low), l.Add(got.High, want.High)); !(e <= 1e-12) {
			t.Errorf("%s = %v, want %v", quantity, got, want)
		}
	}
	for _, c := range ref.Proportions {
		alpha := 1 - c.Confidence
		hold("Clopper–Pearson limits", ClopperPearson(c.Failed, c.Runs, alpha), c.ClopperPearson)
		hold("Wilson limits", Wilson(c.Failed, c.Runs, alpha), c.Wilson)
	}
	for _, c := range ref.Fisher {
		got, err := Fisher(c.Failed, c.Runs)
		if err != nil {
			t.Fatal(err)
		}
		if e := page.Line("p of Fisher's exact test", "2 to 5 levels", maker).Add(got.P, c.P); !(e <= 1e-12) {
			t.Errorf("Fisher(%v, %v) = %v, want %v", c.Failed, c.Runs, got.P, c.P)
		}
	}
}

// accuracyPairs: testdata/exact.json, made by make.py in exact fractions and with mpmath.
func accuracyPairs(t *testing.T, page *accuracy.Section) {
	const maker = "exact fractions and mpmath (make.py)"
	var ref struct {
		GamesHowell []struct {
			Alpha  float64
			Groups [][]float64
			Want   [][9]float64 // level, against, difference, se, df, t, p, low, high
		}
		Dunn []struct {
			Groups [][]float64
			Want   [][5]float64 // level, against, difference of mean ranks, z, p
		}
		Friedman []struct {
			Y                []float64
			Treatment, Block []int32
			Want             []float64 // statistic, df, p
		}
	}
	readReference(t, "exact.json", &ref)
	for _, c := range ref.GamesHowell {
		pairs, err := GamesHowell(c.Groups, c.Alpha)
		if err != nil {
			t.Fatal(err)
		}
		for i, w := range c.Want {
			page.Line("df of Games–Howell", "invented groups", maker).Add(pairs[i].DF, w[4])
			page.Line("adjusted p of Games–Howell", "invented groups", maker).Add(pairs[i].P, w[6])
			limits := page.Line("limits of Games–Howell in standard errors", "invented groups", maker)
			limits.AddIn(pairs[i].Low, w[7], w[3])
			limits.AddIn(pairs[i].High, w[8], w[3])
		}
	}
	for _, c := range ref.Dunn {
		pairs, err := Dunn(c.Groups)
		if err != nil {
			t.Fatal(err)
		}
		for i, w := range c.Want {
			page.Line("p of Dunn", "invented groups", maker).Add(pairs[i].P, w[4])
		}
	}
	for _, c := range ref.Friedman {
		got, err := Friedman(c.Y, c.Treatment, c.Block)
		if err != nil {
			t.Fatal(err)
		}
		page.Line("Friedman's statistic", "incomplete and repeated blocks too", maker).Add(got.Statistic, c.Want[0])
		page.Line("p of Friedman", "incomplete and repeated blocks too", maker).Add(got.P, c.Want[2])
	}
}

// accuracyOrder: tests in run order against exact.json, Shapiro and Wilk's against R.
func accuracyOrder(t *testing.T, page *accuracy.Section) {
	var exact struct {
		Stretches []struct {
			Above, Below, Count int
			Few, Many           float64
		}
		DurbinWatson []struct {
			Residuals          []float64
			Block              []int32
			Columns            [][]float64
			Positive, Negative float64
		}
	}
	readReference(t, "exact.json", &exact)
	for _, c := range exact.Stretches {
		few, many := stretchTails(c.Above, c.Below, c.Count)
		l := page.Line("tails of the runs test", "up to 2,100 values", "exact fractions (make.py)")
		l.Add(few, c.Few)
		l.Add(many, c.Many)
	}
	for _, c := range exact.DurbinWatson {
		got, err := DurbinWatson(c.Residuals, c.Block, orthonormal(c.Columns))
		if err != nil {
			t.Fatal(err)
		}
		l := page.Line("tails of Durbin–Watson", "with and without blocks", "Imhof's integral with mpmath (make.py)")
		l.Add(got.Positive, c.Positive)
		l.Add(got.Negative, c.Negative)
	}
	var byR struct {
		ShapiroWilk []struct {
			X    []float64
			Rule string
			N    int
			W, P float64
		}
	}
	readReference(t, "r.json", &byR)
	for _, c := range byR.ShapiroWilk {
		x := c.X
		if x == nil {
			x = sampleByRule(c.Rule, c.N)
		}
		got, err := ShapiroWilk(x)
		if err != nil {
			t.Fatal(err)
		}
		page.Line("W of Shapiro–Wilk", "3 to 5,000 values", "R (shapiro.test)").Add(got.Statistic, c.W)
		if c.P > 0 {
			page.Line("p of Shapiro–Wilk", "3 to 5,000 values", "R (shapiro.test)").Add(got.P, c.P)
		}
	}
}
