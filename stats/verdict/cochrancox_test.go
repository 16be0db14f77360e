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

// tank is a campaign of two propellers in whole plots and three currents, each twice in a whole plot.
func tank(t *testing.T, packs int32, seed uint64, effect float64) Data {
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
				cells = append(cells, strconv.FormatFloat(10+own+effect*float64(h)+r.NormFloat64(), 'g', -1, 64))
			}
		}
	}
	return Data{Treatments: []linmod.Factor{prop, current}, Blocks: []linmod.Factor{pack}, Random: []linmod.Factor{plot},
		Responses: []Measured{{Name: "pull", Values: decimals(t, cells)}}}
}

// With few whole plots comparisons across them are made with care as well; with more, or within whole plots, they
// need none.
func TestFewWholePlots(t *testing.T) {
	for _, c := range []struct {
		name         string
		packs        int32
		interactions bool
		want         string // how many of the comparisons lean on both kinds of noise
	}{
		{"combinations, three packs", 3, true, "9 comparisons rest in part"},
		{"combinations, nine packs", 9, true, ""},
		{"levels of each factor", 3, false, ""},
	} {
		v, err := Analyse(context.Background(), tank(t, c.packs, 3, 0), Request{Interactions: c.interactions})
		if err != nil {
			t.Fatal(err)
		}
		r := v.Responses[0]
		found := ""
		for _, check := range r.Checks {
			if check.Name == "degrees of freedom" {
				found = check.Message
			}
		}
		if c.want == "" && found != "" || !strings.HasPrefix(found, c.want) {
			t.Errorf("%s: %q", c.name, found)
		}
		if asked := len(r.Alternatives) > 0; asked != (c.want != "") {
			t.Errorf("%s: %d alternatives", c.name, len(r.Alternatives))
		}
	}
}

// Whatever the size of the effect, the cautious law calls no difference that the plain one does not, and where they
// part the verdict is said not to survive.
func TestCautiousLaw(t *testing.T) {
	parted := 0
	for seed := range uint64(60) {
		v, err := Analyse(context.Background(), tank(t, 3, seed, 1+float64(seed)/10), Request{Interactions: true})
		if err != nil {
			t.Fatal(err)
		}
		r := v.Responses[0]
		for _, a := range r.Alternatives {
			if a.Name != "Cochran and Cox, cautious" || !math.IsNaN(float64(a.P)) {
				continue
			}
			clear := 0
			for _, c := range r.Comparisons {
				if c.Low > 0 || c.High < 0 {
					clear++
				}
			}
			if !a.Survives {
				parted++
				if clear == 0 {
					t.Errorf("seed %d: nothing is clear, and yet the cautious law differs", seed)
				}
			}
		}
	}
	if parted == 0 || parted == 60 {
		t.Errorf("the laws part in %d of 60 campaigns", parted)
	}
}
