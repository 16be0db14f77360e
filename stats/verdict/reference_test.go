package verdict

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/internal/accuracy"
	"fairrun/stats/linmod"
)

// The values are R's (lm, car, emmeans, mvtnorm) and, where precise, from
// quadrature at high precision; testdata/r/make.R and precise.py made them and
// testdata/README.md names the data's sources and the digits that were verified.
const referenceDir = "../../testdata/r"

type reference struct {
	CSV   string
	Cases []referenceCase
}

type referenceCase struct {
	Request struct {
		Response     string
		Treatments   []string
		Interactions bool
		Blocks       []string
		Covariates   []string
		Scale        Scale
		Alpha        float64
	}
	Tolerance struct{ Plain, Tukey, Dunnett, Checks float64 }
	N         int
	ANOVA     []referenceRow
	Treatment struct {
		Eta2   *float64 `json:"eta_squared_partial"`
		Omega2 *float64 `json:"omega_squared"`

		Omega2Partial *float64 `json:"omega_squared_partial"`
	}
	Noise struct {
		SD, DF float64
		Low    float64 `json:"sd_low"`
		High   float64 `json:"sd_high"`
	}
	Checks   referenceAssumptions
	Families []struct {
		Factor string
		Means  []struct {
			Level            string
			N                int
			Estimate, SE, DF *float64
			Low, High        *float64
			Response         *float64
			ResponseLow      *float64 `json:"response_low"`
			ResponseHigh     *float64 `json:"response_high"`
		}
		Pairs    []referencePair
		Baseline *referenceBaseline
	}
}

type referenceMean struct {
	Level            string
	N                int
	Estimate, SE, DF *float64
	Low, High        *float64
	Response         *float64
	ResponseLow      *float64 `json:"response_low"`
	ResponseHigh     *float64 `json:"response_high"`
}

type referenceRow struct {
	Term         string
	DF, SS, F, P *float64
	Eta2         *float64 `json:"eta_squared_partial"`
	Omega2       *float64 `json:"omega_squared"`

	Omega2Partial *float64 `json:"omega_squared_partial"`
}

type referenceBaseline struct {
	Level       string
	Structure   string `json:"correlation_structure"`
	Comparisons []referencePair
}

// referencePair is R's comparison of two levels. The precise values are from
// quadrature at high precision: Tukey's law for pairs, Dunnett's for the
// baseline.
type referencePair struct {
	Level, Against   string
	Estimate, SE, DF *float64
	T, P             *float64
	G                *float64 `json:"hedges_g"`
	PTukey           *float64 `json:"p_tukey_precise"`
	PDunnett         *float64 `json:"p_dunnett_precise"`
	PGreater         *float64 `json:"p_dunnett_greater_precise"`
	PLess            *float64 `json:"p_dunnett_less_precise"`
	Low              *float64 `json:"low_precise"`
	High             *float64 `json:"high_precise"`
	LowOneSided      *float64 `json:"low_one_sided_precise"`
	HighOneSided     *float64 `json:"high_one_sided_precise"`
}

// references reads every case of testdata/r, with the columns it speaks of.
func references(t *testing.T, each func(t *testing.T, columns map[string][]string, c referenceCase)) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(referenceDir, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, file := range files {
		var ref reference
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &ref); err != nil || len(ref.Cases) == 0 {
			continue // another kind of reference
		}
		columns := readColumns(t, filepath.Join(referenceDir, ref.CSV))
		for i, c := range ref.Cases {
			tried++
			t.Run(strings.TrimSuffix(filepath.Base(file), ".json")+"/"+strconv.Itoa(i), func(t *testing.T) { each(t, columns, c) })
		}
	}
	if tried < 50 {
		t.Fatalf("only %d reference cases were found", tried)
	}
}

// analysed answers the case with a family of comparisons.
func analysed(t *testing.T, columns map[string][]string, c referenceCase, q Request, better string) Response {
	t.Helper()
	d := dataFor(t, columns, c)
	d.Responses[0].Better = better
	q.Interactions, q.Alpha = c.Request.Interactions, c.Request.Alpha
	v, err := Analyse(context.Background(), d, q)
	if err != nil {
		t.Fatal(err)
	}
	return v.Responses[0]
}

// referenceModel holds runs, the analysis of variance, noise and means against R's.
func referenceModel(t *testing.T, page *accuracy.Section) {
	references(t, func(t *testing.T, columns map[string][]string, c referenceCase) {
		r := analysed(t, columns, c, Request{}, "")
		if r.Runs.OK != c.N {
			t.Errorf("runs = %d, want %d", r.Runs.OK, c.N)
		}
		checkANOVA(t, page, r, c)
		plain := c.Tolerance.Plain
		near(t, nil, "noise", r.Noise.SD, &c.Noise.SD, plain)
		near(t, nil, "noise low", r.Noise.Low, &c.Noise.Low, plain)
		near(t, nil, "noise high", r.Noise.High, &c.Noise.High, plain)
		near(t, nil, "eta", r.Effect.Eta2, c.Treatment.Eta2, plain)
		near(t, nil, "omega", r.Effect.Omega2, none(c.Treatment.Omega2), plain)
		near(t, nil, "partial omega", r.Effect.Omega2Partial, none(c.Treatment.Omega2Partial), plain)
		for _, family := range c.Families {
			for _, want := range family.Means {
				checkMean(t, page, r, c, family.Factor, want)
			}
		}
	})
}

// near compares a number with R's, which is nil where R knows none, and counts it on a line
// of the accuracy page.
func near(t *testing.T, l *accuracy.Line, what string, got Number, want *float64, tolerance float64) {
	t.Helper()
	if want == nil {
		if got.Known() {
			t.Errorf("%s = %v, want none", what, got)
		}
		return
	}
	if l == nil {
		l = &accuracy.Line{}
	}
	// R's own numbers carry 15 digits: what is zero in exact arithmetic is not in theirs.
	if diff := math.Abs(float64(got) - *want); diff < 1e-13 && math.Abs(*want) < 1e-12 {
		return
	}
	if e := l.Add(float64(got), *want); !(e <= tolerance) {
		t.Errorf("%s = %.15g, want %.15g", what, float64(got), *want)
	}
}

func checkANOVA(t *testing.T, page *accuracy.Section, r Response, c referenceCase) {
	t.Helper()
	const against = "R (car)"
	confounded := slices.ContainsFunc(c.ANOVA, func(a referenceRow) bool { return *a.DF == 0 })
	if got := slices.ContainsFunc(r.Checks, func(c Check) bool { return c.Name == "interaction" }); got != confounded {
		t.Errorf("an interaction is said to be confounded: %v, want %v", got, confounded)
	}
	for _, want := range c.ANOVA {
		if *want.DF == 0 || confounded && slices.Contains(c.Request.Blocks, want.Term) {
			continue // the term leaves the model, and blocks are no longer adjusted for it
		}
		k := slices.IndexFunc(r.ANOVA, func(a ANOVARow) bool { return strings.ReplaceAll(a.Term, times, ":") == want.Term })
		if k < 0 {
			t.Errorf("no term %q in the analysis of variance", want.Term)
			continue
		}
		got, plain := r.ANOVA[k], c.Tolerance.Plain
		near(t, nil, want.Term+" df", got.DF, want.DF, 0)
		near(t, page.Line("sum of squares, Type II", onR, against), want.Term+" ss", got.SS, want.SS, plain)
		near(t, page.Line("F", onR, against), want.Term+" f", got.F, want.F, plain)
		near(t, page.Line("p of F", onR, against), want.Term+" p", got.P, want.P, plain)
		near(t, nil, want.Term+" eta", got.Eta2, want.Eta2, plain)
		near(t, nil, want.Term+" omega", got.Omega2, none(want.Omega2), plain)
		near(t, nil, want.Term+" partial omega", got.Omega2Partial, none(want.Omega2Partial), plain)
	}
}

func checkMean(t *testing.T, page *accuracy.Section, r Response, c referenceCase, factor string, want referenceMean) {
	t.Helper()
	const against = "R (emmeans)"
	k := slices.IndexFunc(r.Means, func(m Mean) bool { return inR(m.Factors) == factor && m.Level == want.Level })
	if k < 0 {
		t.Errorf("no mean of %s %q", factor, want.Level)
		return
	}
	got, what, plain := r.Means[k], "mean "+want.Level, c.Tolerance.Plain
	if got.N != want.N {
		t.Errorf("%s: n = %d, want %d", what, got.N, want.N)
	}
	value, low, high := page.Line("adjusted mean", onR, against), page.Line("limits of a mean", onR, against), page.Line("limits of a mean", onR, against)
	if c.Request.Scale == Log {
		near(t, value, what, got.Estimate, want.Response, plain)
		near(t, low, what+" low", got.Low, want.ResponseLow, plain)
		near(t, high, what+" high", got.High, want.ResponseHigh, plain)
		return
	}
	near(t, value, what, got.Estimate, want.Estimate, plain)
	near(t, page.Line("standard error of a mean", onR, against), what+" se", got.SE, want.SE, plain)
	near(t, low, what+" low", got.Low, want.Low, plain)
	near(t, high, what+" high", got.High, want.High, plain)
}

func readColumns(t *testing.T, file string) map[string][]string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for j, name := range rows[0] {
		for _, row := range rows[1:] {
			out[name] = append(out[name], row[j])
		}
	}
	return out
}

func dataFor(t *testing.T, columns map[string][]string, c referenceCase) Data {
	t.Helper()
	var d Data
	for _, name := range c.Request.Treatments {
		d.Treatments = append(d.Treatments, factorOf(name, columns[name]))
	}
	for _, name := range c.Request.Blocks {
		d.Blocks = append(d.Blocks, factorOf(name, columns[name]))
	}
	for _, name := range c.Request.Covariates {
		d.Covariates = append(d.Covariates, linmod.Covariate{Name: name, Value: decimals(t, columns[name]).Floats()})
	}
	d.Responses = []Measured{{Name: c.Request.Response, Scale: c.Request.Scale, Values: decimals(t, columns[c.Request.Response])}}
	return d
}

// factorOf codes a column: levels ascending by value when all are numbers,
// otherwise in alphabetical order.
// inR names factors as R does, "A:B".
func inR(f Factors) string { return strings.Join(f, ":") }

func factorOf(name string, cells []string) linmod.Factor {
	f := linmod.Factor{Name: name, Levels: slices.Compact(slices.Sorted(slices.Values(cells)))}
	if LevelValues(f.Levels) != nil {
		slices.SortFunc(f.Levels, func(a, b string) int {
			x, _ := strconv.ParseFloat(a, 64)
			y, _ := strconv.ParseFloat(b, 64)
			return int(math.Copysign(1, x-y))
		})
	}
	for _, cell := range cells {
		f.Code = append(f.Code, int32(slices.Index(f.Levels, cell)))
	}
	return f
}

func decimals(t *testing.T, cells []string) *decimal.Column {
	t.Helper()
	var c decimal.Column
	for _, cell := range cells {
		if cell == "" || cell == "NA" {
			c.AppendMissing()
			continue
		}
		if err := c.Append([]byte(cell)); err != nil {
			t.Fatal(err)
		}
	}
	return &c
}

// none is an estimated share of variance, which is none where R's formula gives less.
func none(share *float64) *float64 {
	if share == nil {
		return nil
	}
	x := max(0, *share)
	return &x
}
