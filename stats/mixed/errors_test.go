package mixed

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"fairrun/stats/linmod"
)

func factor(name string, code ...int32) linmod.Factor {
	f := linmod.Factor{Name: name, Code: code}
	for _, c := range code {
		for int(c) >= len(f.Levels) {
			f.Levels = append(f.Levels, string(rune('a'+len(f.Levels))))
		}
	}
	return f
}

func TestErrors(t *testing.T) {
	y := []float64{3, 1, 4, 1, 5, 9, 2, 6}
	pairs := factor("pack", 0, 0, 1, 1, 2, 2, 3, 3)
	halves := factor("specimen", 0, 0, 0, 0, 1, 1, 1, 1)
	treatment := linmod.Model{Factors: []linmod.Factor{factor("prop", 0, 1, 0, 1, 0, 1, 0, 1)}}
	nan := math.NaN()
	for _, test := range []struct {
		name string
		m    Model
		y    []float64
		want error
		says string
	}{
		{"no random factor", Model{Fixed: treatment}, y, ErrNoRandom, ""},
		{"one level", Model{Fixed: treatment, Random: []linmod.Factor{factor("specimen", 0, 0, 0, 0, 0, 0, 0, 0)}}, y, ErrOneLevel, `"specimen"`},
		{"one level left", Model{Fixed: treatment, Random: []linmod.Factor{halves}}, []float64{1, 3, 2, 5, nan, nan, nan, nan}, ErrOneLevel, `"specimen"`},
		{"a level for each run", Model{Fixed: treatment, Random: []linmod.Factor{factor("run", 0, 1, 2, 3, 4, 5, 6, 7)}}, y, ErrRowPerLevel, `"run"`},
		{"the same groups", Model{Fixed: treatment, Random: []linmod.Factor{pairs, factor("session", 3, 3, 0, 0, 1, 1, 2, 2)}}, y, ErrSameGroups, `"session"`},
		{"random and fixed", Model{Fixed: linmod.Model{Blocks: []linmod.Factor{pairs}, Factors: treatment.Factors}, Random: []linmod.Factor{pairs}}, y, ErrExplained, `"pack"`},
		// The three ways to pair four runs: their matrices and the residual's add to a
		// constant, which the general mean takes away.
		{"inseparable", Model{Random: []linmod.Factor{factor("a", 0, 0, 1, 1), factor("b", 0, 1, 0, 1), factor("c", 0, 1, 1, 0)}}, []float64{1, 2, 4, 9}, ErrInseparable, `"c"`},
		{"saturated", Model{Fixed: linmod.Model{Blocks: []linmod.Factor{pairs}, Factors: []linmod.Factor{factor("prop", 0, 1, 2, 3, 4, 0, 0, 2)}},
			Random: []linmod.Factor{halves}}, y, ErrSaturated, ""},
		{"constant", Model{Fixed: treatment, Random: []linmod.Factor{pairs}}, []float64{7, 7, 7, 7, 7, 7, 7, 7}, ErrNoNoise, ""},
		{"repeats exactly", Model{Random: []linmod.Factor{pairs}}, []float64{3, 3, 1, 1, 4, 4, 1, 1}, ErrNoNoise, ""},
		{"no rows", Model{Fixed: treatment, Random: []linmod.Factor{pairs}}, []float64{nan, nan, nan, nan, nan, nan, nan, nan}, linmod.ErrNoRows, ""},
		{"infinite", Model{Fixed: treatment, Random: []linmod.Factor{pairs}}, []float64{1e200, -1e200, 1, 1, 4, 4, 1, 1}, linmod.ErrInfinite, ""},
	} {
		r, err := Fit(test.m, test.y)
		if !errors.Is(err, test.want) {
			t.Errorf("%s: error %v, want %v", test.name, err, test.want)
		} else if !strings.Contains(err.Error(), test.says) {
			t.Errorf("%s: %q does not name %s", test.name, err, test.says)
		}
		if err != nil && r != nil {
			t.Errorf("%s: a result beside an error", test.name)
		}
	}
}

func TestPanics(t *testing.T) {
	ok := Model{Fixed: linmod.Model{Factors: []linmod.Factor{factor("prop", 0, 1, 0, 1, 0, 1)}}, Random: []linmod.Factor{factor("pack", 0, 0, 1, 1, 2, 2)}}
	y := []float64{3, 1, 4, 1, 5, 9}
	r, err := Fit(ok, y)
	if err != nil {
		t.Fatal(err)
	}
	means, err := r.Means(0)
	if err != nil {
		t.Fatal(err)
	}
	split := Split{Treatments: 2, Sources: []Source{{Name: "specimen"}, {Name: "run"}}}
	for name, f := range map[string]func(){
		"short random factor": func() { _, _ = Fit(Model{Random: []linmod.Factor{factor("pack", 0, 1)}}, y) },
		"code without level": func() {
			_, _ = Fit(Model{Random: []linmod.Factor{{Name: "pack", Levels: []string{"1"}, Code: []int32{0, 1, 0, 1, 0, 1}}}}, y)
		},
		"weights":       func() { means.Contrasts([][]float64{{1}}) },
		"nested length": func() { Nested(factor("a", 0, 1), factor("b", 0)) },
		"one treatment": func() { Split{Treatments: 1, Sources: split.Sources}.At(1, 1) },
		"items":         func() { split.At(1) },
		"no items":      func() { split.At(0, 1) },
		"shared within": func() {
			Split{Treatments: 2, Sources: []Source{{}, {Shared: true}}}.At(1, 1)
		},
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if text, ok := recover().(string); !ok || !strings.HasPrefix(text, "mixed: ") {
					t.Errorf("panic %v, want a text of this package", text)
				}
			}()
			f()
		})
	}
}

func TestNested(t *testing.T) {
	specimen := linmod.Factor{Name: "specimen", Levels: []string{"u1", "u2"}, Code: []int32{1, 0, 0, 1, -1, 0}}
	pack := linmod.Factor{Name: "pack", Levels: []string{"p1", "p2", "p3"}, Code: []int32{0, 2, 0, 0, 1, 2}}
	f := Nested(specimen, pack)
	if crossed := Crossed(specimen, pack); crossed.Name != "specimen × pack" || !slices.Equal(crossed.Code, f.Code) {
		t.Errorf("crossed: name %q, codes %v", crossed.Name, crossed.Code)
	}
	if f.Name != "pack within specimen" || strings.Join(f.Levels, "|") != "u1 p1|u1 p3|u2 p1" {
		t.Errorf("name %q, levels %q", f.Name, f.Levels)
	}
	for row, want := range []int32{2, 1, 0, 2, -1, 1} {
		if f.Code[row] != want {
			t.Errorf("code of row %d = %d, want %d", row, f.Code[row], want)
		}
	}
}

// A fixed term that others explain keeps its row, and what cannot be estimated
// says so.
func TestAliased(t *testing.T) {
	a := factor("a", 0, 0, 1, 1, 2, 2, 0, 0, 1, 1, 2, 2)
	same := a
	same.Name = "same"
	a.Levels = append(a.Levels, "never run")
	m := Model{Fixed: linmod.Model{Factors: []linmod.Factor{a, same}, Order: 1},
		Random: []linmod.Factor{factor("pack", 0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3)}}
	y := []float64{3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5, 8}
	for _, method := range []Method{KenwardRoger, Satterthwaite} {
		m.Method = method
		r, err := Fit(m, y)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range r.ANOVA() {
			if row.DF != 0 || row.P != 1 || row.F != 0 {
				t.Errorf("%+v, want no degrees of freedom", row)
			}
		}
		if row := r.Joint(); row.DF != 2 || !(row.P > 0 && row.P < 1) {
			t.Errorf("%+v, want two degrees of freedom", row)
		}
		means, err := r.Means(0)
		if err != nil {
			t.Fatal(err)
		}
		e := means.Contrasts([][]float64{{1, -1, 0, 0}, {1, 0, 0, -1}, {0, 0, 0, 0}})
		if e.Estimable[0] || e.Estimable[1] || !e.Estimable[2] {
			t.Errorf("estimable %v, want only the empty contrast", e.Estimable)
		}
		if e.Value[2] != 0 || e.SE(2) != 0 || e.DF[2] != float64(r.DF) {
			t.Errorf("empty contrast: %v, %v, %v", e.Value[2], e.SE(2), e.DF[2])
		}
	}
}
