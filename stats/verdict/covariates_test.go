package verdict

import (
	"context"
	"math"
	"strings"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// noted is a comparison of two levels, three runs each, adjusted for what was noted before each run.
func noted(values ...float64) (Data, []float64) {
	var y decimal.Column
	for _, v := range []string{"10.1", "10.4", "10.2", "12.0", "12.5", "12.1"} {
		if err := y.Append([]byte(v)); err != nil {
			panic(err)
		}
	}
	return Data{
		Treatments: []linmod.Factor{{Name: "prop", Levels: []string{"A", "B"}, Code: []int32{0, 0, 0, 1, 1, 1}}},
		Noted:      []linmod.Covariate{{Name: "start_temp", Value: values}},
		Responses:  []Measured{{Name: "pull", Scale: Raw, Values: &y}},
	}, y.Floats()
}

// about returns the checks of one name.
func about(r Response, name string) []Check {
	var out []Check
	for _, c := range r.Checks {
		if c.Name == name {
			out = append(out, c)
		}
	}
	return out
}

// Start temperatures 1, 3, 2 of one level and 11, 13, 12 of the other: 6·5² = 150 between with 1 degree of freedom, 4
// within with 4, F = 150. With 1, 3, 2 and 3, 2, 1 there is nothing between.
func TestSettingsThatMoveTheCovariate(t *testing.T) {
	for _, tt := range []struct {
		name   string
		values []float64
		f      float64
		flag   bool
		words  string
	}{
		{"moved", []float64{1, 3, 2, 11, 13, 12}, 150, true, "it differs between the settings (p = 0.0003): where the setting itself moves it, adjusting takes that part of the effect away; judge without it too"},
		{"not moved", []float64{1, 3, 2, 3, 2, 1}, 0, false, "the settings do not move it, so adjusting for it is fair"},
	} {
		d, _ := noted(tt.values...)
		v, err := Analyse(context.Background(), d, Request{})
		if err != nil {
			t.Fatal(err)
		}
		r := v.Responses[0]
		c := about(r, "start_temp")
		if len(c) != 1 || c[0].Flag != tt.flag || c[0].Message != tt.words || math.Abs(float64(c[0].Statistic)-tt.f) > 1e-9 {
			t.Errorf("%s: %+v; want F %v, flag %v, %q", tt.name, c, tt.f, tt.flag, tt.words)
		}
		if len(r.Model.Covariates) != 1 || r.Noise.DF != 3 {
			t.Errorf("%s: covariates %v, %v degrees of freedom; want one covariate and 3", tt.name, r.Model.Covariates, r.Noise.DF)
		}
	}
}

// Adjusted by hand: within levels x is −1, 1, 0 and −1, 0, 1 off its mean, pull −2/15, 1/6, −1/30 and −1/5, 3/10, −1/10,
// so that the slope is (2/15 + 1/6 + 1/5 − 1/10)/4 = 1/10. B pulls 12.2 and A 10 + 7/30; their x differ by 10.
func TestAdjustedForTheCovariate(t *testing.T) {
	d, _ := noted(1, 3, 2, 11, 12, 13)
	v, err := Analyse(context.Background(), d, Request{})
	if err != nil {
		t.Fatal(err)
	}
	want := 12.2 - (10 + 7./30) - 10*0.1
	if got := float64(v.Responses[0].Comparisons[0].Estimate); math.Abs(got-want) > 1e-12 {
		t.Errorf("B against A = %v, want %v", got, want)
	}
}

// A run without the value is left out, which is said; a covariate that no run has is not adjusted for.
func TestCovariatesThatLackValues(t *testing.T) {
	nan := math.NaN()
	d, y := noted(1, 3, 2, 3, nan, 1)
	v, err := Analyse(context.Background(), d, Request{})
	if err != nil {
		t.Fatal(err)
	}
	r := v.Responses[0]
	if c := about(r, "start_temp"); len(c) != 2 || !c[0].Flag || c[0].Message != "row 5 has no value of start_temp and cannot be adjusted for it: left out of the comparison" {
		t.Errorf("checks %+v", c)
	}
	if r.Noise.DF != 2 || r.Runs.OK != 6 {
		t.Errorf("%v degrees of freedom and %d runs, want 2 of 5 runs and 6", r.Noise.DF, r.Runs.OK)
	}

	d, _ = noted(nan, nan, nan, nan, nan, nan)
	if v, err = Analyse(context.Background(), d, Request{}); err != nil {
		t.Fatal(err)
	}
	r = v.Responses[0]
	want := (y[3]+y[4]+y[5])/3 - (y[0]+y[1]+y[2])/3
	if c := about(r, "start_temp"); len(c) != 1 || !c[0].Flag || !strings.HasPrefix(c[0].Message, "no run has a value of start_temp") {
		t.Errorf("checks %+v", c)
	}
	if got := float64(r.Comparisons[0].Estimate); math.Abs(got-want) > 1e-12 || len(r.Model.Covariates) != 0 {
		t.Errorf("B against A = %v adjusted for %v, want %v for nothing", got, r.Model.Covariates, want)
	}
}
