//go:build slow

package rehearse

import (
	"math"
	"strings"
	"testing"

	"fairrun/design/lot"
)

// underWorst is what comes of the order drawn for a plan in many campaigns of a world.
func underWorst(t *testing.T, plan string, campaigns int, world func(w *worker, blocks [][]int, source *lot.Stream)) Outcome {
	t.Helper()
	e, err := newEngine(read(t, plan), 1)
	if err != nil {
		t.Fatal(err)
	}
	e.trials = e.trials[:1]
	if e.bench.Failing = 0; world != nil {
		e.world = world
	}
	counted, err := e.run(t.Context(), Options{Campaigns: campaigns})
	if err != nil {
		t.Fatal(err)
	}
	return e.outcome(&e.trials[0], counted.trials[0], campaigns, e.responses[0], 0, 0)
}

// keeps fails when false alarms stray from 5 %: never above by more than chance allows, and below by no more than a
// slack that is known.
func keeps(t *testing.T, name string, alarms Rate, slack float64) {
	t.Helper()
	if a, se := float64(alarms.Value), 4*float64(alarms.SE); a > 0.05+se || a < 0.05-slack-se {
		t.Errorf("%s: false alarms %.4f ± %.4f, alpha is 0.05", name, a, alarms.SE)
	}
}

// TestHonestyOfCovariates adjusts for a temperature that moves the response by a thousand times the noise, and wanders as
// it likes.
func TestHonestyOfCovariates(t *testing.T) {
	wandering := func(w *worker, blocks [][]int, source *lot.Stream) {
		for b, block := range blocks {
			temp := 20 + normal(source)
			for i, treatment := range block {
				s := b*w.length + i
				temp += normal(source)
				w.treatment[s], w.good[s] = treatment, w.counts(s)
				for _, k := range w.covariates {
					w.noted[k][s] = temp
				}
				for k, m := range w.responses {
					w.drift[k][s] = 1000 * m.noise * (temp - 20)
					w.noise[k][s] = normal(source)
				}
			}
		}
	}
	for _, c := range []struct{ name, plan string }{
		{"5 levels, 4 packs, 3 replicates, no drift", adjusted(sixty, `"start_temp"`) + "[drift]\nmodel = \"none\"\n"},
		{"the same, one line for all packs", adjusted(sixty, `"start_temp"`)},
	} {
		o := underWorst(t, c.plan, slowCampaigns, wandering)
		due, _ := promises(t, read(t, c.plan))
		d := o.Differing
		t.Logf("| %s | %.2f %% | %.2f | %.2f %% | %.2f %% | %.2f | %.1f %% | %.1f |", c.name, 100*o.Alarms.Value, 100*o.Alarms.SE,
			100*d.Coverage.Value, 100*due, 100*d.Coverage.SE, 100*d.Found.Value, 100*d.Found.SE)
		keeps(t, c.name, o.Alarms, 0.005)
		if math.Abs(float64(d.Coverage.Value)-due) > 4*float64(d.Coverage.SE) {
			t.Errorf("%s: coverage %.4f ± %.4f, due %.4f", c.name, d.Coverage.Value, d.Coverage.SE, due)
		}
	}
}

// TestHonestyOfLooks judges at each look as real use does, under the worst drift that the plan allows.
func TestHonestyOfLooks(t *testing.T) {
	for _, c := range []struct{ name, levels, looks, spending string }{
		{"5 levels, 6 packs, 2 replicates, one line, 2 looks", "[0, 4, 8, 12, 16]", "2", "obrien-fleming"},
		{"the same, 3 looks", "[0, 4, 8, 12, 16]", "3", "obrien-fleming"},
		{"the same, 3 looks", "[0, 4, 8, 12, 16]", "3", "pocock"},
		{"the same, 6 looks", "[0, 4, 8, 12, 16]", "6", "obrien-fleming"},
		{"2 levels, 6 packs, 2 replicates, one line, 3 looks", "[0, 8]", "3", "pocock"},
	} {
		plan := strings.Replace(strings.Replace(sixty, "[0, 4, 8, 12, 16]", c.levels, 1), "count = 4\nreplicates = 3", "count = 6\nreplicates = 2", 1)
		plan = strings.Replace(plan, "[analysis]", "[analysis]\nlooks = "+c.looks+"\nspending = \""+c.spending+"\"", 1)
		o := underWorst(t, plan, slowCampaigns, harsh(1000, 0))
		d, l := o.Differing, o.Looks
		t.Logf("| %s | `%s` | %.2f %% | %.2f | %.2f %% | %.1f %% | %+.2f %% | %.2f %% | %.2f | %.2f |", c.name, c.spending, 100*o.Alarms.Value, 100*o.Alarms.SE, 100*l.Plain.Value,
			100*d.Found.Value, 100*d.Bias.Value, 100*d.Coverage.Value, l.Nothing.Value, l.Differing.Value)
		keeps(t, c.name+", "+c.spending, o.Alarms, 0.01)
	}
}

// TestHonestyOfSpecimens counts false alarms for the type: specimens differ from each other in every comparison, and nothing
// differs on average over all specimens that there might have been.
func TestHonestyOfSpecimens(t *testing.T) {
	const n = 20_000
	for _, specimens := range []string{"3", "6"} {
		for _, interplay := range []string{"0%", "25%", "100%", "300%"} {
			plan := strings.Replace(strings.Replace(sixty, "[0, 4, 8, 12, 16]", "[0, 4, 8, 12]", 1), "count = 4\nreplicates = 3", "count = 6\nreplicates = 2", 1) +
				"[specimens]\nname = \"motor\"\ncount = " + specimens + "\n" + quiet + "interplay = \"" + interplay + "\"\n"
			o := underWorst(t, plan, n, nil)
			d := o.Differing
			t.Logf("| %s | %s | %.2f %% | %.2f | %.2f %% | %.2f | %.1f %% |", specimens, interplay, 100*o.Alarms.Value, 100*o.Alarms.SE, 100*d.Coverage.Value, 100*d.Coverage.SE, 100*d.Found.Value)
			keeps(t, specimens+" specimens, interplay "+interplay, o.Alarms, 0.05)
		}
	}
}
