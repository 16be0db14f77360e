package verdict

import (
	"context"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"fairrun/stats/linmod"
)

// tank is a campaign of two propellers in whole plots and three currents, each twice in a whole plot, of which some runs are lost.
func tank(t *testing.T, packs int32, seed uint64, effect, lost float64) Data {
	r := rand.New(rand.NewPCG(seed, 1))
	prop := linmod.Factor{Name: "prop", Levels: []string{"A", "B"}}
	current := linmod.Factor{Name: "current", Levels: []string{"0", "4", "8"}}
	pack, plot := linmod.Factor{Name: "pack"}, linmod.Factor{Name: "whole plot"}
	var cells []string
	for b := range packs {
		pack.Levels = append(pack.Levels, string(rune('a'+b)))
		for h := range int32(2) {
			plot.Levels = append(plot.Levels, string(rune('a'+len(plot.Levels))))
			own := r.NormFloat64()
			for i := range int32(6) {
				prop.Code, current.Code = append(prop.Code, h), append(current.Code, i%3)
				pack.Code, plot.Code = append(pack.Code, b), append(plot.Code, int32(len(plot.Levels)-1))
				cell := strconv.FormatFloat(10+own+effect*float64(h)+r.NormFloat64(), 'g', -1, 64)
				if r.Float64() < lost {
					cell = ""
				}
				cells = append(cells, cell)
			}
		}
	}
	return Data{Treatments: []linmod.Factor{prop, current}, Blocks: []linmod.Factor{pack}, Random: []linmod.Factor{plot},
		Responses: []Measured{{Name: "pull", Better: "higher", Values: decimals(t, cells)}}}
}

// Combinations of a hard and an easy factor are judged by pivots, with Kenward and Roger's intervals beside them; levels of each factor
// are not.
func TestWholePlots(t *testing.T) {
	for _, interactions := range []bool{true, false} {
		for _, kind := range []Compare{Pairs, Best} {
			v, err := Analyse(context.Background(), tank(t, 3, 3, 0, 0), Request{Interactions: interactions, Compare: kind})
			if err != nil {
				t.Fatal(err)
			}
			r := v.Responses[0]
			beside := 0
			for _, a := range r.Alternatives {
				if a.Name == "Kenward and Roger" {
					beside = len(a.Intervals)
				}
			}
			want := 0
			for _, c := range r.Comparisons {
				if len(c.Factors) == 2 {
					want++
				}
			}
			if interactions && beside != want || !interactions && beside != 0 {
				t.Errorf("%s, interactions %v: %d intervals beside %d comparisons", kind, interactions, beside, want)
			}
		}
	}
}

// Within whole plots and across them, comparisons have each a half width of their own in standard errors; word and p are one.
func TestWholePlotsAgree(t *testing.T) {
	calls := 0
	for seed := range uint64(20) {
		q := Request{Interactions: true, Compare: []Compare{Pairs, Pairs, Best, Best}[seed%4], Baseline: []string{"A", "4"}}
		if seed < 2 { // the law of Kenward and Roger's intervals beside them is dear
			q.Compare, q.OneSided = Baseline, seed == 1
		}
		v, err := Analyse(context.Background(), tank(t, 3+int32(seed%3), seed, 1+float64(seed)/5, []float64{0, 0.15}[seed/2%2]), q)
		if err != nil {
			t.Fatal(err)
		}
		r := v.Responses[0]
		half := map[bool]float64{} // in standard errors
		for _, c := range r.Comparisons {
			if differs := c.Low > 0 || c.High < 0; !q.OneSided && differs != (c.PAdjusted < 0.05) || q.OneSided && (c.Low > 0) != (c.PAdjusted < 0.05) {
				t.Errorf("seed %d, %s: %s − %s from %v to %v has p = %v", seed, q.Compare, c.Level, c.Against, c.Low, c.High, c.PAdjusted)
			}
			if c.Verdict.Differs() {
				calls++
			}
			if c.PAdjusted < c.P*(1-1e-3) && q.Compare != Best {
				t.Errorf("seed %d: %s − %s: p %v alone and %v together", seed, c.Level, c.Against, c.P, c.PAdjusted)
			}
			if q.Compare == Best || len(c.Factors) < 2 {
				continue // the averages of one factor rest on one noise
			}
			within := c.Level[:1] == c.Against[:1]
			h := float64((c.Estimate - c.Low) / c.SE)
			if known := half[within]; known != 0 && math.Abs(h/known-1) > 1e-9 {
				t.Errorf("seed %d: half widths of %v and %v standard errors, within %v", seed, h, known, within)
			}
			half[within] = h
		}
		if q.Compare != Best && !(half[false] > half[true]) {
			t.Errorf("seed %d: half widths of %v standard errors across whole plots, %v within", seed, half[false], half[true])
		}
		for _, c := range r.Checks {
			if strings.Contains(c.Message, "cautious") {
				t.Errorf("seed %d: %s", seed, c.Message)
			}
		}
	}
	if calls == 0 {
		t.Error("nothing was called different")
	}
}
