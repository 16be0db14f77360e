package verdict

import (
	"math/rand/v2"
	"strconv"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// noisy is a campaign of random numbers over levels that are numbers, some runs lost: differences of the size of the noise.
func noisy(rng *rand.Rand, levels, runs int, effect float64) Data {
	f := linmod.Factor{Name: "dose"}
	for i := range levels {
		f.Levels = append(f.Levels, strconv.Itoa(i*i+i))
	}
	values := &decimal.Column{}
	for i := range levels * runs {
		f.Code = append(f.Code, int32(i%levels))
		if rng.IntN(5) == 0 {
			values.AppendMissing()
			continue
		}
		if err := values.Append(strconv.AppendFloat(nil, 100+effect*float64(i%levels)+rng.NormFloat64(), 'f', 6, 64)); err != nil {
			panic(err)
		}
	}
	return Data{Treatments: []linmod.Factor{f}, Responses: []Measured{{Name: "y", Scale: Raw, Values: values}}}
}

// A trend is called only where some comparison of its factor is: it brings no further chance of a false alarm.
func TestTrendsBringNoFalseAlarm(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 11))
	called, trends := 0, 0
	for n := range 160 {
		d := noisy(rng, 3+rng.IntN(5), 3+rng.IntN(3), 2*rng.Float64())
		q := Request{}
		if n%2 == 1 {
			q.Compare, q.Baseline = Baseline, []string{d.Treatments[0].Levels[rng.IntN(3)]}
		}
		v, err := Analyse(t.Context(), d, q)
		if err != nil {
			t.Fatal(err)
		}
		r := v.Responses[0]
		some := false
		for _, c := range r.Comparisons {
			some = some || c.Verdict.Differs()
		}
		for _, c := range r.Contrasts {
			trends++
			if !c.Verdict.Differs() {
				continue
			}
			if called++; !some {
				t.Errorf("campaign %d (%+v): the %s is called %s, and no comparison is", n, q, c.Name, c.Verdict)
			}
		}
		for _, c := range r.Contrasts {
			if clear := c.Low > 0 || c.High < 0; clear != (c.PAdjusted < 0.05) {
				t.Errorf("campaign %d: %s from %v to %v has an adjusted p of %v", n, c.Name, c.Low, c.High, c.PAdjusted)
			}
		}
	}
	if called < 50 || trends < 280 {
		t.Errorf("%d of %d trends were called: too few to see anything", called, trends)
	}
}
