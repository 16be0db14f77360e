package verdict

import (
	"context"
	"math"
	"strings"
	"testing"

	"fairrun/stats/linmod"
)

// TestLeftOverDrift holds the F test of a straight and a bent trend beyond the model against R 4.2.2, with
//
//	f <- lm(pull ~ pack + level); anova(f, update(f, . ~ . + run + I(run^2)))
//
// and the same with run in the model already. The last run has a level of its own.
func TestLeftOverDrift(t *testing.T) {
	pack := linmod.Factor{Name: "pack", Levels: []string{"1", "2", "3"}, Code: []int32{0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 2}}
	level := linmod.Factor{Name: "level", Levels: []string{"0", "4", "8", "12"}, Code: []int32{0, 1, 2, 2, 1, 0, 1, 2, 0, 0, 2, 1, 2, 0, 1, 1, 0, 2, 3}}
	pull := strings.Fields("41.2 43.9 46.1 45.8 43.2 40.1 43.0 44.9 40.3 39.9 47.9 42.1 44.2 39.5 41.9 41.7 39.0 43.7 44.0")
	run := linmod.Covariate{Name: "run"}
	for i := range pull {
		run.Value = append(run.Value, float64(i+1))
	}
	for _, c := range []struct {
		name string
		more []linmod.Covariate
		f, p float64
	}{
		{"blocks and levels", nil, 0.246685588197861, 0.785595324757497},
		{"with drift", []linmod.Covariate{run}, 0.0671892752644033, 0.800260868939023},
	} {
		d := Data{Treatments: []linmod.Factor{level}, Blocks: []linmod.Factor{pack}, Covariates: c.more,
			Responses: []Measured{{Name: "pull", Scale: Raw, Values: decimals(t, pull)}}}
		v, err := Analyse(context.Background(), d, Request{})
		if err != nil {
			t.Fatal(err)
		}
		checks := about(v.Responses[0], "left-over drift")
		if len(checks) != 1 || checks[0].Flag {
			t.Fatalf("%s: %+v", c.name, checks)
		}
		if got := checks[0]; math.Abs(float64(got.Statistic)-c.f) > 1e-10*c.f || math.Abs(float64(got.P)-c.p) > 1e-11*c.p {
			t.Errorf("%s: F = %.15g, p = %.15g; want %v and %v", c.name, float64(got.Statistic), float64(got.P), c.f, c.p)
		}
	}
}
