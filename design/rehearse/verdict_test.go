package rehearse

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/lot"
	"fairrun/stats/compare"
	"fairrun/stats/judge"
	"fairrun/stats/law"
	"fairrun/stats/verdict"
)

// plans of all kinds whose rehearsal is compared with the verdict itself.
var plans = map[string]string{
	"pairs":                        sixty + responses,
	"baseline":                     sixty + responses + undisturbed + compareWith("baseline"),
	"best":                         sixty + responses + undisturbed + compareWith("best"),
	"no drift":                     sixty + "[drift]\nmodel = \"none\"\n",
	"quadratic":                    sixty + "[drift]\nmodel = \"quadratic\"\n",
	"curve":                        sixty + "[drift]\nmodel = \"curve\"\n",
	"own curves, warm-up":          sixty + "[drift]\nmodel = \"curve\"\nown = true\n[order]\nwarmup = 1\n",
	"own lines":                    sixty + "[drift]\nown = true\n",
	"own parabolas":                sixty + "[drift]\nmodel = \"quadratic\"\nown = true\n",
	"many failures":                sixty + "[simulation]\nfailures = \"30%\"\n",
	"per cent on raw":              strings.Replace(sixty, "noise = \"1.2%\"", "noise = \"1.2%\"\nscale = \"raw\"", 1),
	"positions":                    strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 10\nreplicates = 1", 1) + "[drift]\nmodel = \"position\"\n",
	"incomplete blocks":            strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 10\nruns = 4", 1),
	"two runs a level":             strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 2\nreplicates = 1", 1) + "[simulation]\nfailures = \"10%\"\n",
	"interactions":                 strings.Replace(sixty, "[block]", "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nbaseline = \"A\"\n[block]", 1),
	"whole plots":                  strings.Replace(sixty, "replicates = 3", "replicates = 2", 1) + "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true\n",
	"whole plots, main effects":    "interactions = false\n" + strings.Replace(sixty, "replicates = 3", "replicates = 2", 1) + "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true\n",
	"specimens":                    strings.Replace(sixty, "[block]", "[specimens]\nname = \"motor\"\ncount = 2\n[block]", 1),
	"specimens, incomplete blocks": strings.Replace(strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 10\nruns = 4", 1), "[block]", "[specimens]\nname = \"motor\"\ncount = 3\n[block]", 1),
	"a covariate":                  strings.Replace(sixty, "[analysis]", "[analysis]\ncovariates = [\"start_temp\"]", 1),
	"covariates that depend":       strings.Replace(these, "[analysis]", "[analysis]\ncovariates = [\"start_volts\", \"humidity\", \"start_temp\"]", 1) + humidity + "[simulation]\npack_scatter = \"0%\"\nsag = \"15%\"\nused = \"100%\"\nfailures = \"5%\"\n",
	"covariates, raw per cent":     strings.Replace(strings.Replace(these, "noise = \"1.2%\"", "noise = \"1.2%\"\nscale = \"raw\"", 1), "[analysis]", "[analysis]\ncovariates = [\"start_volts\"]", 1) + "[simulation]\npack_scatter = \"0%\"\nsag = \"15%\"\nused = \"100%\"\nfailures = \"20%\"\n",
	"covariates, no drift":         strings.Replace(sixty, "[analysis]", "[analysis]\ncovariates = [\"start_temp\", \"start_volts\"]", 1) + "[drift]\nmodel = \"none\"\n",
	"covariates, own lines":        strings.Replace(sixty, "[analysis]", "[analysis]\ncovariates = [\"start_temp\"]", 1) + "[drift]\nown = true\n",
	"covariates, whole plots":      strings.Replace(strings.Replace(sixty, "replicates = 3", "replicates = 2", 1), "[analysis]", "[analysis]\ncovariates = [\"start_temp\"]", 1) + "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true\n",
	"looks":                        strings.Replace(sixty, "[analysis]", "[analysis]\nlooks = 3", 1),
	"looks, failures":              strings.Replace(sixty, "[analysis]", "[analysis]\nlooks = 4\nspending = \"pocock\"", 1) + "[simulation]\nfailures = \"25%\"\n",
	"looks, baseline":              strings.Replace(sixty, "[analysis]", "[analysis]\nlooks = 4\ncompare = \"baseline\"", 1) + undisturbed,
	"looks, best":                  strings.Replace(sixty, "[analysis]", "[analysis]\nlooks = 3\ncompare = \"best\"", 1) + undisturbed,
	"looks, specimens":             strings.Replace(strings.Replace(sixty, "[block]", "[specimens]\nname = \"motor\"\ncount = 2\n[block]", 1), "[analysis]", "[analysis]\nlooks = 2", 1),
	"looks, incomplete blocks":     strings.Replace(strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 15\nruns = 4", 1), "[analysis]", "[analysis]\nlooks = 3", 1),
	"reference runs":               sixty + "[order]\nwarmup = 1\nreference = [6, 12]\n",
	"carry-over":                   sixty + "[order]\ncarry_over = true\n",
	"carry-over, failures, looks":  strings.Replace(sixty, "[analysis]", "[analysis]\nlooks = 3", 1) + "[order]\ncarry_over = true\nwarmup = 1\n[simulation]\nfailures = \"20%\"\n",
	"carry-over, incomplete":       strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 10\nruns = 4", 1) + "[order]\ncarry_over = true\n",
	"carry-over, interactions":     strings.Replace(sixty, "[block]", "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nbaseline = \"A\"\n[block]", 1) + "[order]\ncarry_over = true\n",
	"carry-over, whole plots":      strings.Replace(sixty, "replicates = 3", "replicates = 2", 1) + "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true\n[order]\ncarry_over = true\n",
	"carry-over, main effects":     "interactions = false\n" + strings.Replace(sixty, "[block]", "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\", \"C\"]\nbaseline = \"A\"\n[block]", 1) + "[order]\ncarry_over = true\n",
	"carry-over, specimens":        strings.Replace(sixty, "[block]", "[specimens]\nname = \"motor\"\ncount = 2\n[block]", 1) + "[order]\ncarry_over = true\n",
	"by level":                     strings.Replace(sixty, "[analysis]", "[analysis]\nnoise = \"by_level\"", 1) + "[simulation]\nfailures = \"10%\"\n",
	"by level, these packs":        strings.Replace(these, "[analysis]", "[analysis]\nnoise = \"by_level\"", 1) + "[simulation]\nfailures = \"10%\"\n",
	"by level, baseline":           strings.Replace(these, "[analysis]", "[analysis]\nnoise = \"by_level\"\ncompare = \"baseline\"", 1),
	"by level, interactions":       strings.Replace(strings.Replace(these, "[block]", "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nbaseline = \"A\"\n[block]", 1), "[analysis]", "[analysis]\nnoise = \"by_level\"", 1),
	"table":                        mainEffects,
	"table, baseline":              mainEffects + undisturbed + compareWith("baseline"),
	"table, best":                  mainEffects + undisturbed + compareWith("best"),
	"table, looks":                 strings.Replace(mainEffects, "[analysis]", "[analysis]\nlooks = 3", 1),
	"main effects":                 "interactions = false\n" + strings.Replace(sixty, "[block]", "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\", \"C\"]\nbaseline = \"A\"\n[block]", 1),
}

// mainEffects are two factors and several responses whose table is one family.
var mainEffects = "interactions = false\n" + strings.Replace(strings.Replace(sixty, "[block]", "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\", \"C\"]\nbaseline = \"A\"\n[block]", 1), "[analysis]", "[analysis]\nfamily = \"table\"", 1) + responses

// these is [sixty] for these blocks alone.
var these = strings.Replace(sixty, "[block]", "[block]\nrandom = false", 1)

// undisturbed plans have equal replication and no drift, where critical values of all families are exact.
const undisturbed = "[simulation]\nfailures = \"0%\"\n[drift]\nmodel = \"none\"\n"

const humidity = "[readings.humidity]\nunit = \"%\"\n"

func compareWith(family string) string { return "#" + family }

// family reads the word that compareWith put into a plan.
func planOf(t *testing.T, text string) string {
	t.Helper()
	plan, family, found := strings.Cut(text, "#")
	if found {
		plan = strings.Replace(plan, "[analysis]", "[analysis]\ncompare = \""+family+"\"", 1)
	}
	return plan
}

// Every interval and word that a rehearsal reads is the one that the verdict gives for the same runs, to
// 1e-9 of the half width, or to 2e-4 where something is random.
func TestRehearsalIsTheVerdict(t *testing.T) {
	t.Parallel()
	for name, text := range plans {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := read(t, planOf(t, text))
			e, err := newEngine(c, 11)
			if err != nil {
				t.Fatal(err)
			}
			w := newWorker(e)
			runs := lot.New(3, 1<<40)
			compared, slow, lost := 0, 0, 0
			for n := range len(e.factors) + 1 {
				e.set.Sampler(lot.New(uint64(n), 1<<41)).Fill(w.first)
				for i := range e.trials {
					tr := &e.trials[i]
					w.arrange(tr.order, lot.New(uint64(n), 1<<42))
					w.onBench(w.blocks, runs)
					copy(w.made, w.good)
					k := n - 1 // no level differs, then one of each factor
					for look := range tr.looks {
						n, s := agree(t, w, i, look, k)
						compared += n
						slow += s
						lost += w.fits[i].Lost()
					}
				}
			}
			t.Logf("%d intervals compared, %d orders fitted in general, %d slopes lost", compared, slow, lost)
			if dependent := name == "covariates that depend" || name == "covariates, raw per cent"; dependent && lost == 0 {
				t.Error("no slope depends on others")
			}
			if compared == 0 {
				t.Error("nothing was compared")
			}
		})
	}
}

// agree compares the runs in hand with the verdict at a look and returns how many intervals it compared.
func agree(t *testing.T, w *worker, trial, look, differing int) (compared, slow int) {
	t.Helper()
	tolerance := 1e-9
	tr := &w.trials[trial]
	for s := range w.good {
		w.good[s] = w.made[s] && s < tr.looks[look].Blocks*w.length
	}
	v, err := w.verdict(t.Context(), tr, look, differing)
	if err != nil {
		t.Fatal(err)
	}
	f := w.fast(trial)
	full := f != nil
	g := w.general(tr)
	g.Points = law.PivotPoints // as the verdict
	if d := w.columns(tr); len(d.Recovered)+len(d.Random)+len(d.Interplay) > 0 {
		tolerance = 2e-4 // degrees of freedom are no whole numbers, and critical values interpolated
	}
	if !full {
		slow++
	}
	w.reading.By(tr.looks[look].crit)
	for r, m := range w.responses {
		if w.nothing(m, r); differing >= 0 {
			w.differing(m, r, differing)
		}
		type path struct {
			name string
			judge.Fitted
		}
		paths := []path{{"general", g}}
		if full {
			paths = append(paths, path{"least squares", f})
		}
		if tr.plan.Analysis.Noise == design.NoiseByLevel {
			paths = paths[1:] // only the other knows of it
			tolerance = 2e-4  // as where something is random
		}
		for _, p := range paths {
			p.Solve(w.y, w.values)
			for k := range w.factors {
				j, own := &w.reading, &w.factors[k]
				j.Turn(&m.Question, &own.Factor, p.Precision(k), &w.values[k])
				alarm, open := false, false
				for _, c := range v.Responses[r].Comparisons {
					if c.Factors.Term() != own.factors.Term() {
						continue
					}
					word := c.Verdict
					alarm = alarm || word != compare.Equal && word != compare.Unresolved
					open = open || word == compare.Unresolved
					got := w.named(own, c.Level, c.Against)
					low, high := float64(c.Low), float64(c.High)
					if m.Terms == compare.InPercent {
						low, high = float64(c.PercentLow), float64(c.PercentHigh)
					}
					if close := closeTo(got.Low, low, high-low, tolerance) && closeTo(got.High, high, high-low, tolerance); !close {
						t.Errorf("%s of %s: %s − %s is %v to %v, the verdict has %v to %v", p.name, m.plan.Name, c.Level, c.Against, got.Low, got.High, low, high)
					}
					if tolerance < 1e-6 && got.Word != word {
						t.Errorf("%s of %s: %s − %s is called %s, the verdict says %s", p.name, m.plan.Name, c.Level, c.Against, got.Word, word)
					}
					compared++
				}
				if got := j.Differs(); tolerance < 1e-6 && got != alarm {
					t.Errorf("%s of %s: alarm %v, the verdict's words say %v", p.name, m.plan.Name, got, alarm)
				}
				if a, o := j.Standing(); tolerance < 1e-6 && (a != alarm || o != open) {
					t.Errorf("%s of %s: alarm %v and open %v, the verdict's words say %v and %v", p.name, m.plan.Name, a, o, alarm, open)
				}
			}
		}
	}
	return compared, slow
}

// named is the comparison of two levels of a factor, or of one with the best other, by name.
func (w *worker) named(f *factor, level, against string) judge.Interval {
	return w.reading.Comparison(slices.Index(f.labels, level), max(0, slices.Index(f.labels, against)))
}

func closeTo(got, want, width, tolerance float64) bool {
	if math.IsNaN(want) {
		return math.IsNaN(got)
	}
	return math.Abs(got-want) <= tolerance*width/2+1e-14
}

// The comparison that is rehearsed is one of those that the family makes.
func TestRehearsedComparison(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"pairs": "16 0", "baseline": "16 0", "interactions": "16 B 0 A",
		"whole plots": "16 B 0 A", "whole plots, main effects": "16 0",
	} {
		e, err := newEngine(read(t, planOf(t, plans[name])), 1)
		if err != nil {
			t.Fatal(err)
		}
		f := e.factors[0]
		if got := fmt.Sprint(f.labels[f.level], " ", f.labels[f.against]); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	f := factor{Factor: judge.Factor{Levels: 3, Baseline: 2}, labels: []string{"0", "4", "8"}}
	f.choose()
	if f.level != 0 || f.against != 2 {
		t.Errorf("with the last level as baseline: %d against %d, want 0 against 2", f.level, f.against)
	}
}

// What the verdict refuses, the rehearsal refuses in its words.
func TestVerdictRefusesPlan(t *testing.T) {
	t.Parallel()
	plan := strings.Replace(sixty, "margin = \"2%\"\nnoise = \"1.2%\"", "margin = 12\nscale = \"log\"", 1)
	_, err := Rehearse(t.Context(), read(t, plan), Options{Campaigns: 1})
	if _, ok := err.(*verdict.RequestError); !ok {
		t.Errorf("Rehearse = %v, want a RequestError", err)
	}
}
