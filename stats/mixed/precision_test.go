package mixed

import (
	"math"
	"testing"

	"fairrun/stats/law"
)

// TestPrecision: the components of Dyestuff (Davies 1947) are 1764.05 between
// batches and 2451.25 within, from mean squares 11271.5 on 5 and 2451.25 on 24
// degrees of freedom (Davies; lme4's documentation prints their roots).
func TestPrecision(t *testing.T) {
	columns := readTable(t, "../../testdata/r/mixed/Dyestuff.csv")
	r, err := Fit(Model{Random: columns.random([]string{"Batch"})}, columns.numbers(t, "Yield"))
	if err != nil {
		t.Fatal(err)
	}
	const msB, dfB, msW, dfW, n = 11271.5, 5.0, 2451.25, 24.0, 5.0
	check := func(name string, got, want float64) {
		t.Helper()
		if !near(got, want, 0, 1e-9) {
			t.Errorf("%s = %v, want %v", name, got, want)
		}
	}
	p := r.Precision(0.95)
	check("repeatability", p.Repeatability.SD, math.Sqrt(msW))
	check("its df", p.Repeatability.DF, dfW)
	// Classical, exact limits; 95 % points of chi-squared on 24 from a table: 12.401,
	// 39.364 (R's qchisq: 12.40115, 39.36408).
	if got, want := p.Repeatability.Low, math.Sqrt(24*msW/39.36408); !near(got, want, 0, 1e-6) {
		t.Errorf("low = %v, want %v", got, want)
	}
	if got, want := p.Repeatability.High, math.Sqrt(24*msW/12.40115); !near(got, want, 0, 1e-6) {
		t.Errorf("high = %v, want %v", got, want)
	}
	// qnorm(0.975) = 1.959963984540054
	check("repeatability limit", p.Repeatability.Limit, 1.959963984540054*math.Sqrt(2*msW))

	total := 1764.05 + 2451.25
	check("reproducibility", p.Reproducibility.SD, math.Sqrt(total))
	df := total * total / (math.Pow(msB/n, 2)/dfB + math.Pow((n-1)*msW/n, 2)/dfW) // Satterthwaite 1946
	check("its df", p.Reproducibility.DF, df)
	check("reproducibility low", p.Reproducibility.Low, math.Sqrt(df*total/law.ChiSquared{DF: df}.UpperQuantile(0.025)))
	check("share of batches", p.Parts[0].Share, 1764.05/total)
	check("share of the residual", p.Parts[1].Share, msW/total)
	if p.Parts[0].Name != "Batch" || p.Parts[1].Name != "residual" {
		t.Errorf("parts %+v", p.Parts)
	}
}
