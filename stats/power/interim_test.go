package power

import (
	"errors"
	"math"
	"testing"

	"fairrun/stats/compare"
)

// One look at the whole campaign is the family itself, whether it is read on one side or on two.
func TestInterimAtTheOnlyLook(t *testing.T) {
	for _, f := range []compare.Family{compare.Single{}, compare.Pairs{Levels: 5}, compare.Baseline{Levels: 4}, compare.Best{Levels: 4}} {
		for _, df := range []float64{4, 30, 51.5} {
			got, err := Interim{Fractions: []float64{1}, DF: 4}.Critical(f, 0.05, df)
			if want := f.Critical(0.05, df); err != nil || math.Abs(got-want) > 1e-9*want {
				t.Errorf("%T, %v degrees of freedom: critical value %v, error %v; want %v", f, df, got, err, want)
			}
		}
	}
}

// The share of alpha is that of the whole campaign, whose degrees of freedom are those planned
// until there are more; the t law is that of the degrees of freedom so far.
func TestInterimCountsTheWholeCampaign(t *testing.T) {
	f := compare.Pairs{Levels: 4}
	i := Interim{Spending: Pocock, Fractions: []float64{0.5}, DF: 40}
	for _, c := range []struct{ df, whole float64 }{{15, 40}, {40, 40}, {60, 60}} {
		alone, err := Test{Family: f, Alpha: 0.05}.Alone(c.whole)
		if err != nil {
			t.Fatal(err)
		}
		// The first look spends alpha·log(1 + (e−1)/2), all of it.
		want, err := Look{Level: alone * math.Log1p((math.E-1)/2)}.Critical(c.df)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := i.Critical(f, 0.05, c.df); err != nil || math.Abs(got-want) > 1e-8*want {
			t.Errorf("%v degrees of freedom: critical value %v, error %v; want %v", c.df, got, err, want)
		}
	}
}

func TestInterimTooEarly(t *testing.T) {
	if got, err := (Interim{DF: 40}).Critical(compare.Single{}, 0.05, 10); err != nil || !math.IsInf(got, 1) {
		t.Errorf("before the first look: critical value %v, error %v; want +Inf", got, err)
	}
	if _, err := (Interim{Fractions: []float64{1}}).Critical(compare.Single{}, 0.05, 0); !errors.Is(err, ErrNoDF) {
		t.Errorf("without degrees of freedom: error %v, want ErrNoDF", err)
	}
}
