package verdict

import (
	"math"
	"slices"
	"testing"
)

// The table of two factors is one family, as R's multcomp judges all pairs of both by a single step. That samples: its own
// error is some 1e-5.
func TestTableIsOneFamily(t *testing.T) {
	ref := readFamilies(t).Table
	r := ref.ask(t, ref.read(t), Request{Family: WholeTable})
	for _, w := range ref.Effects {
		k := slices.IndexFunc(r.Comparisons, func(c Comparison) bool { return c.Factors.Term() == w.Factor && c.Level == w.Level })
		if k < 0 {
			t.Fatalf("no comparison of %s %s", w.Factor, w.Level)
		}
		for ; r.Comparisons[k].Against != w.Against; k++ {
		}
		c := r.Comparisons[k]
		if math.Abs(float64(c.PAdjusted)-w.Adjusted) > 1e-5 {
			t.Errorf("%s against %s: adjusted p = %v, want %v", w.Level, w.Against, c.PAdjusted, w.Adjusted)
		}
		if got := float64((c.High - c.Low) / (2 * c.SE)); math.Abs(got-ref.Critical) > 1e-3 {
			t.Errorf("%s against %s: critical value %v, want %v", w.Level, w.Against, got, ref.Critical)
		}
	}
	if f := r.families(&Request{}); f != 2 {
		t.Errorf("%d families, want 2", f)
	}
}

// Responses get equal shares of alpha, and an adjusted p counts them all.
func TestTableOverResponses(t *testing.T) {
	ref := readFamilies(t).Table
	d := ref.read(t)
	one, err := Analyse(t.Context(), d, Request{Family: WholeTable, Alpha: 0.025})
	if err != nil {
		t.Fatal(err)
	}
	again := d.Responses[0]
	again.Name = "again"
	d.Responses = append(d.Responses, again)
	for _, q := range []Request{{Family: WholeTable}, {}} {
		two, err := Analyse(t.Context(), d, q)
		if err != nil {
			t.Fatal(err)
		}
		f := *two.FalseAlarms
		if q.Family == "" {
			if want := 1 - math.Pow(0.95, 4); f.Families != 4 || math.Abs(float64(f.Any)-want) > 1e-12 {
				t.Errorf("false alarms of four families: %+v, want any %v", f, want)
			}
			continue
		}
		if f.Families != 1 || f.Any != 0.05 {
			t.Errorf("false alarms of a table: %+v", f)
		}
		for i, c := range two.Responses[1].Comparisons {
			w := one.Responses[0].Comparisons[i]
			if c.Low != w.Low || c.High != w.High || math.Abs(float64(c.PAdjusted)-min(1, 2*float64(w.PAdjusted))) > 1e-15 {
				t.Errorf("%s against %s: %v to %v, p %v; alone at half alpha %v to %v, p %v", c.Level, c.Against, c.Low, c.High, c.PAdjusted, w.Low, w.High, w.PAdjusted)
			}
		}
	}
}

// Word and interval of whatever stands in the table say what the adjusted p says.
func TestTableIsCoherent(t *testing.T) {
	ref := readFamilies(t).Table
	for _, q := range []Request{
		{}, {Compare: Baseline, Baseline: []string{"0.5", "OJ"}}, {Compare: Baseline, Baseline: []string{"0.5", "OJ"}, OneSided: true}, {Compare: Best},
		{Contrasts: []Chosen{{Name: "ends", Factors: Factors{"dose"}, Weights: map[string]float64{"2": 1, "0.5": -1}}}},
	} {
		q.Family, q.Alpha = WholeTable, 0.002
		d := ref.read(t)
		d.Responses[0].Better = "higher"
		r := ref.ask(t, d, q)
		for _, c := range r.Comparisons {
			if clear := c.Low > 0 || c.High < 0; clear != (float64(c.PAdjusted) < q.Alpha) {
				t.Errorf("%+v: %s against %s from %v to %v, p %v", q, c.Level, c.Against, c.Low, c.High, c.PAdjusted)
			}
		}
		for _, c := range r.Contrasts {
			if clear := c.Low > 0 || c.High < 0; clear != (float64(c.PAdjusted) < q.Alpha) {
				t.Errorf("%+v: %s from %v to %v, p %v", q, c.Name, c.Low, c.High, c.PAdjusted)
			}
		}
	}
}

func TestUnknownFamily(t *testing.T) {
	ref := readFamilies(t).Table
	if _, err := Analyse(t.Context(), ref.read(t), Request{Family: "all"}); err == nil {
		t.Error("a family of another name is taken")
	}
}
