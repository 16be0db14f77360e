package verdict

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// TestReferenceMixed holds the verdict of models with random factors against
// values worked out in 40 digits from REML and Kenward and Roger's formulas
// (testdata/r/mixed/reml.py), which R's lme4, pbkrtest and emmeans agree with
// (make.R).
func TestReferenceMixed(t *testing.T) {
	type numbers struct {
		SE   float64 `json:"se_precise"`
		DF   float64 `json:"df_precise"`
		P    float64 `json:"p_precise"`
		PAll float64 `json:"p_tukey_precise"`
		Low  float64 `json:"low_precise"`
		High float64 `json:"high_precise"`
		Den  float64 `json:"den_df_precise"`
		F    float64 `json:"f_precise"`
	}
	var ref struct {
		CSV   string
		Cases []struct {
			Request struct {
				Response                               string
				Treatments, Blocks, Covariates, Random []string
				Interactions                           bool
				Scale                                  Scale
			}
			Components []struct {
				Name string
				SD   float64 `json:"sd_precise"`
			}
			ANOVA []struct {
				Term string
				DF   float64
				KR   numbers `json:"kenward_roger"`
			}
			Families []struct {
				Factor string
				Means  []struct {
					Level    string
					Estimate float64 `json:"estimate_precise"`
					KR       numbers `json:"kenward_roger"`
				}
				Pairs []struct {
					Level, Against string
					Estimate       float64 `json:"estimate_precise"`
					KR             numbers `json:"kenward_roger"`
				}
			}
		}
	}
	files, err := filepath.Glob(filepath.Join(referenceDir, "mixed", "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		ref.Cases = nil
		if err := json.Unmarshal(text, &ref); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		for k, c := range ref.Cases {
			if len(c.Request.Treatments) == 0 {
				continue // components alone: a verdict compares something
			}
			t.Run(strings.TrimSuffix(filepath.Base(file), ".json")+"/"+strconv.Itoa(k), func(t *testing.T) {
				tried++
				columns := readColumns(t, filepath.Join(referenceDir, "mixed", ref.CSV))
				var plain referenceCase
				plain.Request.Response, plain.Request.Treatments = c.Request.Response, c.Request.Treatments
				plain.Request.Blocks, plain.Request.Covariates, plain.Request.Scale = c.Request.Blocks, c.Request.Covariates, c.Request.Scale
				d := dataFor(t, columns, plain)
				for _, name := range c.Request.Random {
					var parts []linmod.Factor
					for _, part := range strings.Split(name, ":") {
						parts = append(parts, factorOf(part, columns[part]))
					}
					if len(parts) == 1 {
						d.Random = append(d.Random, parts[0])
					} else {
						d.Random = append(d.Random, mixed.Nested(parts...))
					}
				}
				v, err := Analyse(context.Background(), d, Request{Interactions: c.Request.Interactions})
				if err != nil {
					t.Fatal(err)
				}
				r := v.Responses[0]
				if r.Model.Method != "REML" || r.Model.DFMethod != "kenward-roger" {
					t.Fatalf("method %q with %q; checks %v", r.Model.Method, r.Model.DFMethod, r.Checks)
				}
				near := func(what string, got Number, want, tolerance float64) {
					t.Helper()
					if !(math.Abs(float64(got)-want) <= tolerance*max(1e-6, math.Abs(want))) {
						t.Errorf("%s = %.15g, want %.15g", what, float64(got), want)
					}
				}
				for i, want := range c.Components {
					near("sd of "+want.Name, r.Noise.Components[i].SD, want.SD, 1e-6)
				}
				for _, want := range c.ANOVA {
					i := slices.IndexFunc(r.ANOVA, func(a ANOVARow) bool { return a.Term == strings.ReplaceAll(want.Term, ":", times) })
					if i < 0 {
						t.Errorf("no term %q", want.Term)
						continue
					}
					near(want.Term+" F", r.ANOVA[i].F, want.KR.F, 1e-6)
					near(want.Term+" den_df", r.ANOVA[i].DenDF, want.KR.Den, 1e-6)
				}
				for _, f := range c.Families {
					for _, want := range f.Means {
						i := slices.IndexFunc(r.Means, func(m Mean) bool { return inR(m.Factors) == f.Factor && m.Level == want.Level })
						if i < 0 {
							t.Errorf("no mean of %q", want.Level)
							continue
						}
						if c.Request.Scale == Log { // geometric means, by the delta method
							want.Estimate = math.Exp(want.Estimate)
							want.KR.SE *= want.Estimate
						}
						near("mean "+want.Level, r.Means[i].Estimate, want.Estimate, 1e-8)
						near("se of mean "+want.Level, r.Means[i].SE, want.KR.SE, 1e-6)
						near("df of mean "+want.Level, r.Means[i].DF, want.KR.DF, 1e-6)
					}
					for _, want := range f.Pairs {
						sign := Number(1)
						i := slices.IndexFunc(r.Comparisons, func(m Comparison) bool {
							return inR(m.Factors) == f.Factor && m.Level == want.Level && m.Against == want.Against
						})
						if i < 0 {
							sign = -1
							i = slices.IndexFunc(r.Comparisons, func(m Comparison) bool {
								return inR(m.Factors) == f.Factor && m.Level == want.Against && m.Against == want.Level
							})
						}
						if i < 0 {
							t.Errorf("no comparison of %q with %q", want.Level, want.Against)
							continue
						}
						got, what := r.Comparisons[i], want.Level+" against "+want.Against
						near(what, sign*got.Estimate, want.Estimate, 1e-8)
						near(what+" df", got.DF, want.KR.DF, 1e-6)
						adjusted := got.PAdjusted
						if k := slices.IndexFunc(r.Alternatives, func(a Alternative) bool { return a.Name == "Kenward and Roger" }); k >= 0 && len(r.Alternatives[k].Intervals) > i {
							adjusted = r.Alternatives[k].Intervals[i].PAdjusted // treatments that share no block with others are judged by pivots
						} else {
							near(what+" se", got.SE, want.KR.SE, 1e-6)
						}
						near(what+" adjusted", adjusted, want.KR.PAll, 1e-5)
					}
				}
			})
		}
	}
	if tried < 15 {
		t.Fatalf("only %d cases were tried", tried)
	}
}
