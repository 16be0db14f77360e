package verdict

import (
	"context"
	"math"
	"strconv"
	"testing"

	"fairrun/stats/linmod"
)

// packed is a campaign of three packs, three levels and two runs of each in each, whose level 2 scatters: the numbers that
// levels with a noise of their own are tested by, made apart from this project.
func packed(t *testing.T) Data {
	t.Helper()
	values := [3][3][2]float64{
		{{10.0, 10.2}, {10.9, 11.3}, {11.0, 13.1}},
		{{9.3, 9.6}, {10.5, 10.2}, {12.4, 10.2}},
		{{10.4, 10.1}, {11.2, 11.5}, {10.8, 13.4}},
	}
	level := linmod.Factor{Name: "level", Levels: []string{"0", "1", "2"}}
	pack := linmod.Factor{Name: "pack", Levels: []string{"1", "2", "3"}}
	var y []string
	for b, levels := range values {
		for k, runs := range levels {
			for _, v := range runs {
				pack.Code, level.Code = append(pack.Code, int32(b)), append(level.Code, int32(k))
				y = append(y, strconv.FormatFloat(v, 'g', -1, 64))
			}
		}
	}
	return Data{Treatments: []linmod.Factor{level}, Blocks: []linmod.Factor{pack}, Responses: []Measured{{Name: "y", Scale: Raw, Values: decimals(t, y)}}}
}

// TestNoiseByLevel: for these packs intervals are Games & Howell's on the variances within cells; for packs like these those of
// paired differences with Bonferroni's bound.
func TestNoiseByLevel(t *testing.T) {
	type want struct{ estimate, se, df, half float64 }
	for _, c := range []struct {
		name   string
		sample []string
		method string
		want   map[string]want
	}{
		{"these packs", nil, "welch", map[string]want{
			"1-0": {1, 0.124722, 5.7366, 0.38782}, "2-0": {1.883333, 0.671441, 3.0824, 2.75723}, "2-1": {0.883333, 0.673919, 3.1274, 2.74238}}},
		{"packs like these", []string{"pack"}, "paired", map[string]want{
			"1-0": {1, 0.057735, 2, 0.4416}, "2-0": {1.883333, 0.033333, 2, 0.25496}, "2-1": {0.883333, 0.066667, 2, 0.50992}}},
	} {
		d := packed(t)
		d.Sample = c.sample
		v, err := Analyse(context.Background(), d, Request{ByLevel: true})
		if err != nil {
			t.Fatal(err)
		}
		r := v.Responses[0]
		if r.Model.DFMethod != c.method {
			t.Errorf("%s: degrees of freedom by %q, want %q", c.name, r.Model.DFMethod, c.method)
		}
		if len(r.Comparisons) != 3 {
			t.Fatalf("%s: %d comparisons", c.name, len(r.Comparisons))
		}
		for _, m := range r.Comparisons {
			w := c.want[m.Level+"-"+m.Against]
			for _, x := range []struct {
				what      string
				got, want float64
			}{{"estimate", float64(m.Estimate), w.estimate}, {"se", float64(m.SE), w.se}, {"df", float64(m.DF), w.df}, {"half width", float64(m.High-m.Low) / 2, w.half}} {
				if math.Abs(x.got-x.want) > 2e-5*max(1, math.Abs(x.want)) {
					t.Errorf("%s, %s less %s: %s is %v, want %v", c.name, m.Level, m.Against, x.what, x.got, x.want)
				}
			}
			if (m.PAdjusted < 0.05) != clearOfZero(m) {
				t.Errorf("%s: %s less %s: p %v beside %v to %v", c.name, m.Level, m.Against, m.PAdjusted, m.Low, m.High)
			}
		}
	}
}

// TestGamesHowellIntervals: where a check says that levels scatter unequally, the pairs of Games & Howell stand among the alternatives.
func TestGamesHowellIntervals(t *testing.T) {
	d := packed(t)
	v, err := Analyse(context.Background(), d, Request{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range v.Responses[0].Alternatives {
		if a.Name == "Welch with Games-Howell" {
			if len(a.Intervals) != 3 || !a.Intervals[0].Low.Known() || a.Intervals[0].Factors.Term() != "level" {
				t.Errorf("intervals: %+v", a.Intervals)
			}
			return
		}
	}
	t.Error("no Games & Howell among the alternatives")
}
