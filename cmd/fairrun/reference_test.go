package main

import (
	"bytes"
	"encoding/json"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The values are those of testdata/README.md: R's and mpmath's for public data
// sets, NIST's certified ones. What is compared with them is what a person gets,
// the JSON that "verdict --data" prints.
const testdata = "../../testdata"

// printed is the part of the JSON that is checked.
type printed struct {
	Responses []struct {
		Runs  struct{ OK int }
		ANOVA []anovaRow
		Noise struct {
			SD, DF *float64
			Low    *float64 `json:"sd_low"`
			High   *float64 `json:"sd_high"`
		}
		Means []struct {
			Factors                 []string
			Level                   string
			N                       int
			Estimate, SE, Low, High *float64
		}
		Comparisons []comparison
		Checks      []struct{ Name string }
	}
}

type anovaRow struct {
	Term         string
	DF, SS, F, P *float64
	Eta2         *float64 `json:"eta_squared_partial"`
}

type comparison struct {
	Factors                []string
	Level, Against         string
	Estimate, SE, DF, T, P *float64
	PAdjusted              *float64 `json:"p_adjusted"`
	Low, High              *float64
	G                      *float64 `json:"hedges_g"`
}

// verdictOf runs the command line.
func verdictOf(t *testing.T, args ...string) printed {
	t.Helper()
	var out, errs bytes.Buffer
	args = append([]string{"fairrun", "verdict", "--format", "json"}, args...)
	if code := run(t.Context(), args, streams{In: strings.NewReader(""), Out: &out, Err: &errs}); code != exitDone || errs.Len() > 0 {
		t.Fatalf("%q: exit code %d: %s", args, code, errs.String())
	}
	var p printed
	if err := json.Unmarshal(out.Bytes(), &p); err != nil {
		t.Fatal(err)
	}
	if len(p.Responses) != 1 {
		t.Fatalf("%q: %d responses", args, len(p.Responses))
	}
	return p
}

func readJSON(t *testing.T, path string, into any) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
}

// TestNIST holds F to 13 digits of the value in exact arithmetic, and to what
// NIST certifies.
func TestNIST(t *testing.T) {
	var certified map[string]struct {
		File      string
		Certified struct{ F string }
		Exact     struct {
			F       string
			Between struct{ SS string }
			Within  struct{ SS string }
			Means   map[string]string
		}
	}
	readJSON(t, filepath.Join(testdata, "nist", "certified.json"), &certified)
	if len(certified) != 11 {
		t.Fatalf("%d sets, want 11", len(certified))
	}
	for name, c := range certified {
		t.Run(name, func(t *testing.T) {
			r := verdictOf(t, "--data", filepath.Join(testdata, "nist", c.File), "--response", "response", "--factor", "treatment").Responses[0]
			k := slices.IndexFunc(r.ANOVA, func(a anovaRow) bool { return a.Term == "treatment" })
			for _, q := range []struct {
				what, want string
				got        *float64
				digits     float64
			}{
				{"F", c.Exact.F, r.ANOVA[k].F, 13},
				{"certified F", c.Certified.F, r.ANOVA[k].F, 13},
				{"between", c.Exact.Between.SS, r.ANOVA[k].SS, 13},
				{"within", c.Exact.Within.SS, r.ANOVA[len(r.ANOVA)-1].SS, 13},
			} {
				if got := digits(t, *q.got, q.want); got < q.digits {
					t.Errorf("%s = %.17g, want %s: %.1f digits", q.what, *q.got, q.want, got)
				}
			}
			for _, m := range r.Means {
				if got := digits(t, *m.Estimate, c.Exact.Means[m.Level]); got < 15 {
					t.Errorf("mean of %s = %.17g, want %s: %.1f digits", m.Level, *m.Estimate, c.Exact.Means[m.Level], got)
				}
			}
		})
	}
}

// digits is the logarithm of the relative error, 17 at most: the reach of a
// float64.
func digits(t *testing.T, got float64, want string) float64 {
	t.Helper()
	w, _, err := big.ParseFloat(want, 10, 200, big.ToNearestEven)
	if err != nil {
		t.Fatal(err)
	}
	e := new(big.Float).SetPrec(200).SetFloat64(got)
	e.Sub(e, w)
	e.Quo(e, w)
	relative, _ := e.Float64()
	return min(17, -math.Log10(math.Abs(relative)))
}

// referenceCase is a request and R's answer to it.
type referenceCase struct {
	Request struct {
		Response     string
		Treatments   []string
		Interactions bool
		Blocks       []string
		Covariates   []string
		Scale        string
		Alpha        float64
	}
	N     int
	ANOVA []anovaRow
	Noise struct {
		SD, DF float64
		Low    float64 `json:"sd_low"`
		High   float64 `json:"sd_high"`
	}
	Families []struct {
		Factor string
		Means  []struct {
			Level                   string
			N                       int
			Estimate, SE, Low, High *float64
			Response                *float64
			ResponseLow             *float64 `json:"response_low"`
			ResponseHigh            *float64 `json:"response_high"`
		}
		Pairs    []referencePair
		Baseline *struct {
			Level       string
			Comparisons []referencePair
			Structure   string `json:"correlation_structure"`
		}
	}
}

type referencePair struct {
	comparison
	Tukey       *float64 `json:"p_tukey_precise"`
	Dunnett     *float64 `json:"p_dunnett_precise"`
	PreciseLow  *float64 `json:"low_precise"`
	PreciseHigh *float64 `json:"high_precise"`
}

// args is the request as flags.
func (c *referenceCase) args(file string) []string {
	q := c.Request
	args := []string{"--data", file, "--response", q.Response, "--factor", strings.Join(q.Treatments, ","),
		"--scale", q.Scale, "--alpha", strconv.FormatFloat(q.Alpha, 'g', -1, 64)}
	if q.Interactions {
		args = append(args, "--interactions")
	}
	if len(q.Blocks) > 0 {
		args = append(args, "--fixed-blocks", "--block", strings.Join(q.Blocks, ","))
	}
	if len(q.Covariates) > 0 {
		args = append(args, "--covariate", strings.Join(q.Covariates, ","))
	}
	return args
}

// baseline is the flags that ask for the comparisons with R's baseline; nil
// where R was not asked.
func (c *referenceCase) baseline() []string {
	var levels []string
	for _, f := range c.Families {
		if f.Baseline == nil {
			return nil
		}
		levels = append(levels, f.Baseline.Level)
	}
	if len(levels) == 0 {
		return nil
	}
	return []string{"--compare", "baseline", "--baseline", strings.Join(levels, ",")}
}

// TestR compares every number with R's: plain quantities to 10 digits, adjusted
// p-values and limits against the quadrature in high precision that stands
// beside R's own.
func TestR(t *testing.T) {
	sets, err := filepath.Glob(filepath.Join(testdata, "r", "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	tried := map[string]bool{}
	for _, set := range append(sets, filepath.Join(testdata, "handbook", "oneway.json")) {
		var ref struct {
			CSV   string
			Cases []referenceCase
		}
		readJSON(t, set, &ref)
		if ref.CSV == "" {
			continue // values of another kind
		}
		name := strings.TrimSuffix(filepath.Base(set), ".json")
		for i := range ref.Cases {
			c := &ref.Cases[i]
			t.Run(name+"/"+strconv.Itoa(i+1), func(t *testing.T) {
				tried[name] = true
				args := c.args(filepath.Join(filepath.Dir(set), ref.CSV))
				hold(t, c, verdictOf(t, args...), false)
				if b := c.baseline(); b != nil {
					hold(t, c, verdictOf(t, append(args, b...)...), true)
				}
			})
		}
	}
	for _, name := range []string{"InsectSprays", "warpbreaks", "npk", "OrchardSprays", "oneway"} {
		if !tried[name] {
			t.Errorf("%s was not tried", name)
		}
	}
}

// Tolerances, relative but for those of the limits, which are parts of the
// interval's half width.
const (
	plain     = 1e-10
	family    = 1e-8
	anyFamily = 1e-4 // where the correlations have no structure and Genz's method is left
)

// hold compares what was printed with what is expected.
func hold(t *testing.T, c *referenceCase, p printed, baseline bool) {
	t.Helper()
	r := p.Responses[0]
	near := func(what string, got, want *float64, tolerance float64) {
		t.Helper()
		switch {
		case want == nil && got != nil:
			t.Errorf("%s = %v, want none", what, *got)
		case want != nil && got == nil:
			t.Errorf("%s is not there, want %v", what, *want)
		case want != nil:
			if d := math.Abs(*got - *want); !(d <= tolerance*math.Abs(*want)) && !(d < 1e-13) {
				t.Errorf("%s = %.15g, want %.15g", what, *got, *want)
			}
		}
	}
	if r.Runs.OK != c.N {
		t.Errorf("%d runs, want %d", r.Runs.OK, c.N)
	}
	aliased := false
	for _, want := range c.ANOVA {
		aliased = aliased || *want.DF == 0
	}
	for _, want := range c.ANOVA {
		if *want.DF == 0 || aliased && slices.Contains(c.Request.Blocks, want.Term) {
			continue // the aliased term leaves the model, and blocks are no longer adjusted for it
		}
		found := false
		for _, got := range r.ANOVA {
			if strings.ReplaceAll(got.Term, " × ", ":") == want.Term {
				found = true
				near(want.Term+" df", got.DF, want.DF, 0)
				near(want.Term+" ss", got.SS, want.SS, plain)
				near(want.Term+" F", got.F, want.F, plain)
				near(want.Term+" p", got.P, want.P, plain)
				near(want.Term+" eta", got.Eta2, want.Eta2, plain)
			}
		}
		if !found {
			t.Errorf("no term %q in the analysis of variance", want.Term)
		}
	}
	near("noise", r.Noise.SD, &c.Noise.SD, plain)
	near("noise low", r.Noise.Low, &c.Noise.Low, plain)
	near("noise high", r.Noise.High, &c.Noise.High, plain)
	near("noise df", r.Noise.DF, &c.Noise.DF, 0)
	for _, f := range c.Families {
		for _, want := range f.Means {
			found := false
			for _, got := range r.Means {
				if strings.Join(got.Factors, ":") != f.Factor || got.Level != want.Level {
					continue
				}
				found = true
				what := "mean of " + got.Level
				if got.N != want.N {
					t.Errorf("%s: %d runs, want %d", what, got.N, want.N)
				}
				if c.Request.Scale == "log" {
					near(what, got.Estimate, want.Response, plain)
					near(what+" low", got.Low, want.ResponseLow, plain)
					near(what+" high", got.High, want.ResponseHigh, plain)
				} else {
					near(what, got.Estimate, want.Estimate, plain)
					near(what+" se", got.SE, want.SE, plain)
					near(what+" low", got.Low, want.Low, plain)
					near(what+" high", got.High, want.High, plain)
				}
			}
			if !found {
				t.Errorf("no mean of %s %q", f.Factor, want.Level)
			}
		}
		pairs, tolerance := f.Pairs, family
		if baseline {
			if pairs = f.Baseline.Comparisons; f.Baseline.Structure == "general" {
				tolerance = anyFamily
			}
		}
		for _, want := range pairs {
			got, ok := find(r.Comparisons, f.Factor, want.Level, want.Against)
			if !ok {
				t.Errorf("no comparison of %s %q with %q", f.Factor, want.Level, want.Against)
				continue
			}
			what := want.Level + " against " + want.Against
			near(what, got.Estimate, want.Estimate, plain)
			near(what+" se", got.SE, want.SE, plain)
			near(what+" df", got.DF, want.DF, 0)
			near(what+" t", got.T, want.T, plain)
			near(what+" p", got.P, want.P, 10*plain)
			adjusted := want.Tukey
			if baseline {
				adjusted = want.Dunnett
			} else {
				near(what+" g", got.G, want.G, plain)
			}
			if adjusted != nil {
				near(what+" adjusted p", got.PAdjusted, adjusted, tolerance)
			}
			if want.PreciseLow != nil && want.PreciseHigh != nil {
				half := (*want.PreciseHigh - *want.PreciseLow) / 2
				if math.Abs(*got.Low-*want.PreciseLow) > tolerance*half || math.Abs(*got.High-*want.PreciseHigh) > tolerance*half {
					t.Errorf("%s: interval %.12g to %.12g, want %.12g to %.12g", what, *got.Low, *got.High, *want.PreciseLow, *want.PreciseHigh)
				}
			}
		}
	}
}

// find is the comparison of two levels, turned round where it was made the
// other way: R's order of levels is not always that of their names.
func find(all []comparison, factor, level, against string) (comparison, bool) {
	turned := func(x *float64) *float64 {
		if x == nil {
			return nil
		}
		y := -*x
		return &y
	}
	for _, c := range all {
		if strings.Join(c.Factors, ":") != factor {
			continue
		}
		if c.Level == level && c.Against == against {
			return c, true
		}
		if c.Level == against && c.Against == level {
			c.Estimate, c.T, c.G = turned(c.Estimate), turned(c.T), turned(c.G)
			c.Low, c.High = turned(c.High), turned(c.Low)
			return c, true
		}
	}
	return comparison{}, false
}
