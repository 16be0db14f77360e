package verdict

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

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// The values are R's (lm, car, emmeans, mvtnorm); testdata/r/make.R made them
// and testdata/README.md names the data's sources.
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
	}
	Noise struct {
		SD, DF float64
		Low    float64 `json:"sd_low"`
		High   float64 `json:"sd_high"`
	}
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
		Baseline *struct {
			Level       string
			Comparisons []referencePair
		}
	}
}

type referenceRow struct {
	Term         string
	DF, SS, F, P *float64
	Eta2         *float64 `json:"eta_squared_partial"`
}

type referencePair struct {
	Level, Against   string
	Estimate, SE, DF *float64
	T, P             *float64
	G                *float64 `json:"hedges_g"`
	PTukey           *float64 `json:"p_tukey"`
	PTukeyPrecise    *float64 `json:"p_tukey_precise"`
	PDunnett         *float64 `json:"p_dunnett"`
	Low, High        *float64
}

// TestReference holds every number of the verdict against R's.
func TestReference(t *testing.T) {
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
		for i, c := range ref.Cases {
			name := strings.TrimSuffix(filepath.Base(file), ".json") + "/" + strconv.Itoa(i)
			t.Run(name, func(t *testing.T) {
				tried++
				columns := readColumns(t, filepath.Join(referenceDir, ref.CSV))
				checkCase(t, columns, c, Pairs)
				checkCase(t, columns, c, Baseline)
			})
		}
	}
	if tried < 20 {
		t.Fatalf("only %d reference cases were found", tried)
	}
}

func checkCase(t *testing.T, columns map[string][]string, c referenceCase, compare Compare) {
	t.Helper()
	d := dataFor(t, columns, c)
	q := Request{Interactions: c.Request.Interactions, Compare: compare, Alpha: c.Request.Alpha}
	for _, f := range c.Families {
		if f.Baseline != nil && q.Interactions {
			q.Baseline = strings.Fields(f.Baseline.Level)
		} else if f.Baseline != nil {
			q.Baseline = append(q.Baseline, f.Baseline.Level)
		}
	}
	if compare == Baseline && len(q.Baseline) != len(d.Treatments) {
		return // R was not asked
	}
	v, err := Analyse(d, q)
	if err != nil {
		t.Fatal(err)
	}
	r := v.Responses[0]
	near := func(what string, got Number, want *float64, tolerance float64) {
		t.Helper()
		if want == nil {
			if got.Known() {
				t.Errorf("%s = %v, want none", what, got)
			}
			return
		}
		if diff := math.Abs(float64(got) - *want); !(diff <= tolerance*math.Abs(*want)) && !(diff < 1e-13) {
			t.Errorf("%s = %.15g, want %.15g", what, float64(got), *want)
		}
	}
	plain := c.Tolerance.Plain
	if r.Runs.OK != c.N {
		t.Errorf("runs = %d, want %d", r.Runs.OK, c.N)
	}
	confounded := slices.ContainsFunc(c.ANOVA, func(a referenceRow) bool { return *a.DF == 0 })
	if got := slices.ContainsFunc(r.Checks, func(c Check) bool { return c.Name == "interaction" }); got != confounded {
		t.Errorf("an interaction is said to be confounded: %v, want %v", got, confounded)
	}
	for _, want := range c.ANOVA {
		if *want.DF == 0 || confounded && slices.Contains(c.Request.Blocks, want.Term) {
			continue // the term leaves the model, and blocks are no longer adjusted for it
		}
		k := slices.IndexFunc(r.ANOVA, func(a ANOVARow) bool { return a.Term == want.Term })
		if k < 0 {
			t.Errorf("no term %q in the analysis of variance", want.Term)
			continue
		}
		got := r.ANOVA[k]
		near(want.Term+" df", got.DF, want.DF, 0)
		near(want.Term+" ss", got.SS, want.SS, plain)
		near(want.Term+" f", got.F, want.F, plain)
		near(want.Term+" p", got.P, want.P, plain)
		near(want.Term+" eta", got.Eta2, want.Eta2, plain)
	}
	near("noise", r.Noise.SD, &c.Noise.SD, plain)
	near("noise low", r.Noise.Low, &c.Noise.Low, plain)
	near("noise high", r.Noise.High, &c.Noise.High, plain)
	near("eta", r.Effect.Eta2, c.Treatment.Eta2, plain)
	for _, family := range c.Families {
		for _, want := range family.Means {
			k := slices.IndexFunc(r.Means, func(m Mean) bool { return m.Factor == family.Factor && m.Level == want.Level })
			if k < 0 {
				t.Errorf("no mean of %s %q", family.Factor, want.Level)
				continue
			}
			got, what := r.Means[k], "mean "+want.Level
			if got.N != want.N {
				t.Errorf("%s: n = %d, want %d", what, got.N, want.N)
			}
			if c.Request.Scale == Log {
				near(what, got.Estimate, want.Response, plain)
				near(what+" low", got.Low, want.ResponseLow, plain)
				near(what+" high", got.High, want.ResponseHigh, plain)
				continue
			}
			near(what, got.Estimate, want.Estimate, plain)
			near(what+" se", got.SE, want.SE, plain)
			near(what+" low", got.Low, want.Low, plain)
			near(what+" high", got.High, want.High, plain)
		}
		pairs, tolerance := family.Pairs, c.Tolerance.Tukey
		if compare == Baseline {
			if family.Baseline == nil {
				continue
			}
			pairs, tolerance = family.Baseline.Comparisons, c.Tolerance.Dunnett
		}
		for _, want := range pairs {
			k := slices.IndexFunc(r.Comparisons, func(m Comparison) bool {
				return m.Factor == family.Factor && m.Level == want.Level && m.Against == want.Against
			})
			sign := Number(1)
			if k < 0 { // R's order of levels is not always that of their names
				sign = -1
				k = slices.IndexFunc(r.Comparisons, func(m Comparison) bool {
					return m.Factor == family.Factor && m.Level == want.Against && m.Against == want.Level
				})
			}
			if k < 0 {
				t.Errorf("no comparison of %s %q with %q", family.Factor, want.Level, want.Against)
				continue
			}
			got, what := r.Comparisons[k], want.Level+" against "+want.Against
			if got.Estimate, got.T, got.G = sign*got.Estimate, sign*got.T, sign*got.G; sign < 0 {
				got.Low, got.High = -got.High, -got.Low
			}
			near(what, got.Estimate, want.Estimate, plain)
			near(what+" se", got.SE, want.SE, plain)
			near(what+" t", got.T, want.T, plain)
			near(what+" p", got.P, want.P, 10*plain)
			adjusted := want.PTukey
			if compare == Baseline {
				adjusted = want.PDunnett
			}
			switch {
			case adjusted == nil:
			case compare == Baseline:
				// Genz's method as R uses it errs by up to 1e-4 whatever the size of p.
				if diff := math.Abs(float64(got.PAdjusted) - *adjusted); !(diff <= tolerance) {
					t.Errorf("%s adjusted = %v, want %v", what, got.PAdjusted, *adjusted)
				}
			default:
				// R's studentized range errs by up to 1e-9 whatever the size of p.
				if diff := math.Abs(float64(got.PAdjusted) - *adjusted); !(diff <= tolerance**adjusted+1e-9) {
					t.Errorf("%s adjusted = %v, want %v", what, got.PAdjusted, *adjusted)
				}
			}
			half := math.Abs(float64(got.High-got.Low)) / 2
			if want.Low != nil && math.Abs(float64(got.Low)-*want.Low) > tolerance*half {
				t.Errorf("%s: low = %v, want %v", what, got.Low, *want.Low)
			}
			if want.High != nil && math.Abs(float64(got.High)-*want.High) > tolerance*half {
				t.Errorf("%s: high = %v, want %v", what, got.High, *want.High)
			}
			if compare == Pairs {
				near(what+" g", got.G, want.G, plain)
			}
		}
	}
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
func factorOf(name string, cells []string) linmod.Factor {
	f := linmod.Factor{Name: name, Levels: slices.Compact(slices.Sorted(slices.Values(cells)))}
	if numbers(f.Levels) != nil {
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
