package mixed

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fairrun/stats/internal/accuracy"
	"fairrun/stats/linmod"
)

// reference is a case of the sets in testdata/r/mixed, made by R's lme4, pbkrtest,
// lmerTest and emmeans, and solved again in 40 digits by reml.py there. A quantity
// holds R's number and, unless the script leaves it out, the precise one.
type reference struct {
	Request struct {
		Response     string
		Treatments   []string
		Interactions bool
		Blocks       []string
		Covariates   []string
		Random       []string
		Scale        string
	}
	N         int
	Deviance  float64  `json:"reml_deviance"`
	Deviance2 *float64 `json:"reml_deviance_precise"`

	Components []struct {
		Name string
		SD   float64  `json:"sd"`
		SD2  *float64 `json:"sd_precise"`
	}
	Intercept *estimate
	Anova     []struct {
		Term          string
		DF            int
		KR            ftest `json:"kenward_roger"`
		Satterthwaite ftest
	}
	Families []struct {
		Factor string
		Means  []estimate
		Pairs  []estimate
	}
}

type ftest struct {
	DenDF  float64  `json:"den_df"`
	DenDF2 *float64 `json:"den_df_precise"`
	F      float64  `json:"f"`
	F2     *float64 `json:"f_precise"`
	Scale  float64  `json:"f_scaling"`
	Scale2 *float64 `json:"f_scaling_precise"`
	P      float64  `json:"p"`
	P2     *float64 `json:"p_precise"`
}

type estimate struct {
	Level, Against string
	N              int
	Estimate       float64
	Estimate2      *float64  `json:"estimate_precise"`
	KR             precision `json:"kenward_roger"`
	Satterthwaite  precision
}

type precision struct {
	SE  float64  `json:"se"`
	SE2 *float64 `json:"se_precise"`
	DF  float64  `json:"df"`
	DF2 *float64 `json:"df_precise"`
}

// table is a CSV file by columns.
type table map[string][]string

func readTable(t *testing.T, name string) table {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns := table{}
	for j, name := range rows[0] {
		for _, row := range rows[1:] {
			columns[name] = append(columns[name], row[j])
		}
	}
	return columns
}

// factor returns a column as a factor, levels in the order of their first row.
func (c table) factor(name string) linmod.Factor {
	f := linmod.Factor{Name: name}
	for _, text := range c[name] {
		l := slices.Index(f.Levels, text)
		if l < 0 {
			l = len(f.Levels)
			f.Levels = append(f.Levels, text)
		}
		f.Code = append(f.Code, int32(l))
	}
	return f
}

func (c table) numbers(t *testing.T, name string) []float64 {
	t.Helper()
	x := make([]float64, len(c[name]))
	for i, text := range c[name] {
		if text == "" {
			x[i] = math.NaN()
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		x[i] = v
	}
	return x
}

func (c table) random(names []string) []linmod.Factor {
	var fs []linmod.Factor
	for _, name := range names {
		var parts []linmod.Factor
		for _, p := range strings.Split(name, ":") {
			parts = append(parts, c.factor(p))
		}
		fs = append(fs, Nested(parts...))
	}
	return fs
}

func (c *reference) model(t *testing.T, columns table) (Model, []float64) {
	t.Helper()
	q := c.Request
	m := Model{Random: columns.random(q.Random)}
	m.Fixed.Order = 1
	if q.Interactions {
		m.Fixed.Order = len(q.Treatments)
	}
	for _, name := range q.Blocks {
		m.Fixed.Blocks = append(m.Fixed.Blocks, columns.factor(name))
	}
	for _, name := range q.Treatments {
		m.Fixed.Factors = append(m.Fixed.Factors, columns.factor(name))
	}
	for _, name := range q.Covariates {
		m.Fixed.Covariates = append(m.Fixed.Covariates, linmod.Covariate{Name: name, Value: columns.numbers(t, name)})
	}
	y := columns.numbers(t, q.Response)
	if q.Scale == "log" {
		for i, v := range y {
			y[i] = math.Log(v)
		}
	}
	return m, y
}

// worst keeps the largest relative error of each quantity.
type worst map[string]float64

// check compares a number with the precise one to 1e-10, or with R's where there
// is none: lme4 stops within 1e-5 of the optimum, and lmerTest differentiates by
// differences. Numbers below floor are compared absolutely, by it.
func (w worst) check(t *testing.T, page *accuracy.Section, quantity, what string, got, byR float64, precise *float64, floor float64) {
	t.Helper()
	want, tol := byR, 2e-5
	switch {
	case precise != nil:
		want, tol = *precise, 1e-10
	case strings.Contains(quantity, "Satterthwaite"), quantity == "p":
		tol = 2e-3
	}
	if precise == nil {
		quantity += " by R"
	}
	err := math.Abs(got-want) / max(math.Abs(want), floor)
	w[quantity] = max(w[quantity], err)
	if maker := "40 digits (reml.py)"; precise != nil {
		page.Line(quantity, "data sets of R and lme4", maker).AddError(err)
	}
	if !(err <= tol) {
		t.Errorf("%s of %s = %v, want %v (%.1e)", quantity, what, got, want, err)
	}
}

// TestAccuracy compares fits with Newton's method in 40 digits (reml.py) or R, and the digits
// they reach with docs/accuracy.md.
func TestAccuracy(t *testing.T) {
	page := &accuracy.Section{Package: "stats/mixed"}
	files, err := filepath.Glob("../../testdata/r/mixed/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no reference files: %v", err)
	}
	w := worst{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var set struct {
			CSV   string
			Cases []reference
		}
		if err := json.Unmarshal(data, &set); err != nil {
			t.Fatal(err)
		}
		columns := readTable(t, filepath.Join(filepath.Dir(file), set.CSV))
		for i := range set.Cases {
			c := &set.Cases[i]
			name := strings.TrimSuffix(filepath.Base(file), ".json") + "/" + strings.Join(c.Request.Treatments, "*") + "|" + strings.Join(c.Request.Random, "+")
			t.Run(name, func(t *testing.T) { c.compare(t, page, columns, w) })
		}
	}
	for quantity, err := range w {
		t.Logf("worst relative error of %s: %.1e", quantity, err)
	}
	page.Check(t)
}

func (c *reference) compare(t *testing.T, page *accuracy.Section, columns table, w worst) {
	m, y := c.model(t, columns)
	r, err := Fit(m, y)
	if err != nil {
		t.Fatal(err)
	}
	m.Method = Satterthwaite
	s, err := Fit(m, y)
	if err != nil {
		t.Fatal(err)
	}
	if r.N != c.N {
		t.Errorf("N = %d, want %d", r.N, c.N)
	}
	w.check(t, page, "criterion", "fit", r.Criterion, c.Deviance, c.Deviance2, 1)
	total := 0.0
	for _, want := range c.Components {
		total = math.Hypot(total, want.SD)
	}
	zero := false
	for i, want := range c.Components {
		w.check(t, page, "sd", want.Name, r.Components[i].SD, want.SD, want.SD2, 0.01*total)
		zero = zero || r.Components[i].SD == 0
	}
	if c.Intercept != nil {
		means, err := r.Means()
		if err != nil {
			t.Fatal(err)
		}
		w.check(t, page, "estimate", "mean", means.All().Value[0], c.Intercept.Estimate, c.Intercept.Estimate2, 0)
	}
	rows, srows := r.ANOVA(), s.ANOVA()
	for i, want := range c.Anova {
		got, sat := rows[i], srows[i]
		if got.Name != strings.ReplaceAll(want.Term, ":", " × ") || got.DF != want.DF || sat.DF != want.DF {
			t.Errorf("row %d = %+v, want term %s on %d", i, got, want.Term, want.DF)
		}
		k := want.KR
		w.check(t, page, "Kenward-Roger df of F", want.Term, got.DenDF, k.DenDF, k.DenDF2, 0)
		w.check(t, page, "F", want.Term, got.F, k.F, k.F2, 1e-3)
		w.check(t, page, "scale of F", want.Term, got.Scale, k.Scale, k.Scale2, 0)
		w.check(t, page, "p", want.Term, got.P, k.P, k.P2, 0)
		k = want.Satterthwaite
		if zero {
			k.DenDF2 = nil // reml.py keeps what is zero among the unknown
		}
		w.check(t, page, "Satterthwaite df of F", want.Term, sat.DenDF, k.DenDF, k.DenDF2, 0)
	}
	for _, family := range c.Families {
		c.compareMeans(t, page, m, r, s, strings.Split(family.Factor, ":"), slices.Concat(family.Means, family.Pairs), zero, w)
	}
}

func (c *reference) compareMeans(t *testing.T, page *accuracy.Section, m Model, r, s *Result, names []string, wants []estimate, zero bool, w worst) {
	var factors []int
	for _, name := range names {
		factors = append(factors, slices.Index(c.Request.Treatments, name))
	}
	means, err := r.Means(factors...)
	if err != nil {
		t.Fatal(err)
	}
	smeans, err := s.Means(factors...)
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for k, levels := range means.Levels {
		var text []string
		for i, l := range levels {
			text = append(text, m.Fixed.Factors[factors[i]].Levels[l])
		}
		at[strings.Join(text, " ")] = k
	}
	for _, want := range wants {
		weights := make([]float64, len(means.N))
		weights[at[want.Level]] = 1
		if want.Against != "" {
			weights[at[want.Against]]--
		} else if got := means.N[at[want.Level]]; got != want.N {
			t.Errorf("N of %s = %d, want %d", want.Level, got, want.N)
		}
		what := want.Level + " - " + want.Against
		k, q := want.KR, want.Satterthwaite
		e := means.Contrasts([][]float64{weights})
		w.check(t, page, "estimate", what, e.Value[0], want.Estimate, want.Estimate2, 0.1*e.SE(0))
		w.check(t, page, "Kenward-Roger se", what, e.SE(0), k.SE, k.SE2, 0)
		w.check(t, page, "Kenward-Roger df", what, e.DF[0], k.DF, k.DF2, 0)
		e = smeans.Contrasts([][]float64{weights})
		w.check(t, page, "Satterthwaite se", what, e.SE(0), q.SE, q.SE2, 0)
		if zero {
			q.DF2 = nil
		}
		w.check(t, page, "Satterthwaite df", what, e.DF[0], q.DF, q.DF2, 0)
	}
}
