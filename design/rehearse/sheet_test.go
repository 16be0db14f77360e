package rehearse

import (
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairrun/design/analysis"
	"fairrun/design/lot"
	"fairrun/design/sheet"
	"fairrun/design/table"
	"fairrun/stats/judge"
	"fairrun/stats/law"
)

// A rehearsed campaign that is entered into a run sheet gets the verdict that it got in the rehearsal, by
// the whole way of a real one: the plan and the sheet from disk, their columns, the verdict.
func TestRehearsedCampaignOnASheet(t *testing.T) {
	t.Parallel()
	sessions := "[session]\nname = \"day\"\nblocks = 2\n[items]\nname = \"battery\"\nlabels = [\"P1\", \"P2\", \"P3\"]\n"
	looks := func(plan string) string {
		return strings.Replace(plan, "[analysis]", "[analysis]\nlooks = 2\nspending = \"pocock\"", 1)
	}
	for name, text := range map[string]string{
		"lines of their own":           strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 3\nreplicates = 2", 1) + "[drift]\nown = true\n[simulation]\nfailures = \"10%\"\n",
		"fixed runs":                   strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 3\nreplicates = 1", 1) + "[order]\nwarmup = 1\nreference = [4]\n",
		"incomplete blocks":            strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 8\nruns = 4", 1) + "[simulation]\npack_scatter = \"0%\"\n",
		"whole plots":                  strings.Replace(sixty, "[0, 4, 8, 12, 16]", "[0, 4]", 1) + "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true\n",
		"covariates":                   adjusted(sixty, `"start_temp", "humidity"`) + humidity + "[simulation]\nfailures = \"10%\"\n",
		"first of two looks":           looks(sixty),
		"sessions and items":           sixty + sessions,
		"sessions of incomplete packs": strings.Replace(sixty, "count = 4\nreplicates = 3", "count = 10\nruns = 4", 1) + strings.Replace(sessions, "blocks = 2", "blocks = 5", 1),
		"first look at specimens":      looks(adjusted(strings.Replace(sixty, "[block]", "[specimens]\nname = \"motor\"\ncount = 2\n[block]", 1), `"start_volts"`)),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			plan := read(t, text)
			e, err := newEngine(plan, 5)
			if err != nil {
				t.Fatal(err)
			}
			w := newWorker(e)
			w.arrange(Drawn, nil)
			w.onBench(w.blocks, lot.New(5, 1<<40))

			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, sheet.PlanFile), []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
			at := time.Date(2026, time.May, 9, 9, 0, 0, 0, time.UTC)
			if _, err := sheet.Write(dir, plan, e.drawn, at, table.Dialect{}); err != nil {
				t.Fatal(err)
			}
			tr := &e.trials[0]
			for s := range w.good {
				w.good[s] = w.good[s] && s < tr.looks[0].Blocks*w.length
			}
			w.nothing(w.responses[0], 0)
			for s, y := range w.y[:tr.looks[0].Blocks*w.length] {
				set := []sheet.Assignment{{Name: "status", Value: "failed"}}
				switch {
				case w.good[s]:
					set = []sheet.Assignment{{Name: "spin_up", Value: strconv.FormatFloat(w.responses[0].observed(y), 'g', -1, 64)}}
				case !w.counts(s):
					set = []sheet.Assignment{{Name: "spin_up", Value: "1"}} // is to be left out
				}
				for _, k := range tr.covariates {
					set = append(set, sheet.Assignment{Name: plan.Readings[k].Name, Value: strconv.FormatFloat(w.noted[k][s], 'f', -1, 64)})
				}
				if _, err := sheet.Record(dir, s+1, set, false, at.Add(time.Duration(s)*time.Minute)); err != nil {
					t.Fatal(err)
				}
			}
			filled, err := sheet.Open(dir)
			if err != nil {
				t.Fatal(err)
			}
			v, err := analysis.VerdictOver(t.Context(), filled, 0)
			if err != nil {
				t.Fatal(err)
			}
			tolerance := 1e-9
			if tr.beyond {
				tolerance = 2e-4 // as in TestRehearsalIsTheVerdict
			}
			by := w.fit(0)
			if g, general := by.(*judge.General); general {
				g.Points = law.PivotPoints // as the verdict
			}
			by.Solve(w.y, w.values)
			w.reading.By(tr.looks[0].crit)
			comparisons := v.Responses[0].Comparisons
			if len(comparisons) == 0 {
				t.Fatal("the verdict compares nothing")
			}
			for _, c := range comparisons {
				k := slices.IndexFunc(w.factors, func(f factor) bool { return f.factors.Term() == c.Factors.Term() })
				w.reading.Turn(&w.responses[0].Question, &w.factors[k].Factor, by.Precision(k), &w.values[k])
				got := w.named(&w.factors[k], c.Level, c.Against)
				low, high := float64(c.Low), float64(c.High)
				if !closeTo(got.Low, low, high-low, tolerance) || !closeTo(got.High, high, high-low, tolerance) || got.Word != c.Verdict {
					t.Errorf("%s − %s is %v to %v, %s; the verdict on the sheet has %v to %v, %s", c.Level, c.Against, got.Low, got.High, got.Word, low, high, c.Verdict)
				}
			}
		})
	}
}
