package plan_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/plan"

	"github.com/google/go-cmp/cmp"
)

func ptr[T any](x T) *T { return &x }

func TestReadEveryKey(t *testing.T) {
	want := &design.Plan{
		Title: "Field weakening and propellers on the pod thruster",
		Scope: "pod thruster no. 3",
		Seed:  ptr(uint64(41)),
		Factors: []design.Factor{
			{Name: "weakening", Unit: "A", Levels: []string{"0", "7.50", "15e0"}, Numeric: true, Values: []float64{0, 7.5, 15}, Baseline: "0"},
			{Name: "prop", Levels: []string{"A", "B, 3 blades"}, Baseline: "A"},
		},
		Chosen: [][]string{{"0", "A"}, {"0", "B, 3 blades"}, {"7.50", "A"}, {"15e0", "B, 3 blades"}},
		Block:  design.Block{Name: "pack", Count: 4, Replicates: 2},
		Drift:  design.Drift{Model: "quadratic", Own: true},
		Responses: []design.Response{
			{Name: "spin_up", Unit: "ms", Better: "lower", Margin: design.Amount{Set: true, Value: 0.02, Relative: true}, Noise: design.Amount{Set: true, Value: 0.015, Relative: true}, Scale: "log"},
			{Name: "pull", Unit: "N", Better: "higher", Margin: design.Amount{Set: true, Value: 0.5}, Noise: design.Amount{Set: true, Value: 0.3}, Scale: "log"},
			{Name: "Leistung", Better: "lower", Scale: "raw"},
		},
		Analysis: design.Analysis{Alpha: 0.01, Power: 0.8, Compare: "baseline", Looks: 2, Spending: "pocock"},
		Readings: []design.Reading{
			{Name: "start_volts", Unit: "V", Low: ptr(24.0)},
			{Name: "start_temp", Unit: "°C"},
			{Name: "water_temp", Unit: "°C", High: ptr(30.0)},
		},
		Budget: &design.Budget{
			Supply: &design.Supply{Capacity: 5, Unit: "Ah", Usable: 0.8, PerRun: 0.2},
			Run:    40 * time.Second,
			Rest:   3 * time.Minute,
			Swap:   6*time.Minute + 30*time.Second,
			Changeover: []design.Changeover{
				{Factor: "weakening", Time: 10 * time.Second},
				{Factor: "prop", Time: 4 * time.Minute},
			},
		},
	}
	path := filepath.Join("testdata", "thruster.toml")
	got, err := plan.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("Read (-want +got):\n%s", diff)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	windows := "\ufeff" + strings.ReplaceAll(string(data), "\n", "\r\n")
	got, err = plan.Parse(path, []byte(windows))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("with byte order mark and CRLF (-want +got):\n%s", diff)
	}
}

func TestDefaults(t *testing.T) {
	text, _ := assemble(map[string]string{"block": "[block]\ncount = 2\nreplicates = 2\n"})
	c, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	want := &design.Plan{
		Title:     "Weakening",
		Scope:     "pod thruster no. 3",
		Factors:   []design.Factor{{Name: "weakening", Levels: []string{"0", "4", "8"}, Numeric: true, Values: []float64{0, 4, 8}}},
		Block:     design.Block{Name: "block", Count: 2, Replicates: 2},
		Drift:     design.Drift{Model: "linear"},
		Responses: []design.Response{{Name: "spin_up", Unit: "ms", Better: "lower", Scale: "raw"}},
		Analysis:  design.Analysis{Alpha: 0.05, Power: 0.9, Compare: "pairs", Looks: 1, Spending: "obrien-fleming"},
		Readings:  []design.Reading{{Name: "start_volts", Unit: "V"}, {Name: "start_temp", Unit: "°C"}},
	}
	if diff := cmp.Diff(want, c); diff != "" {
		t.Errorf("Parse (-want +got):\n%s", diff)
	}
}

// What may be left out, and what is taken as said.
func TestAcceptedForms(t *testing.T) {
	two := sound["factor"] + "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n"
	three := two + "[[factor]]\nname = \"fluid\"\nlevels = [\"fresh\", \"salt\"]\n"
	four := three + "[[factor]]\nname = \"duct\"\nlevels = [\"on\", \"off\"]\n"
	for _, c := range []struct {
		name  string
		parts map[string]string
		ask   func(*design.Plan) any
		want  any
	}{
		{"one factor has no interactions", nil, func(c *design.Plan) any { return c.Interactions }, false},
		{"not even when the plan says so", map[string]string{"head": sound["head"] + "interactions = true\n"}, func(c *design.Plan) any { return c.Interactions }, false},
		{"two factors have them", map[string]string{"factor": two}, func(c *design.Plan) any { return c.Interactions }, true},
		{"three factors have them", map[string]string{"factor": three}, func(c *design.Plan) any { return c.Interactions }, true},
		{"three factors without", map[string]string{"factor": three, "head": sound["head"] + "interactions = false\n"}, func(c *design.Plan) any { return c.Interactions }, false},
		{"four factors have main effects", map[string]string{"factor": four}, func(c *design.Plan) any { return c.Interactions }, false},
		{"four factors with interactions", map[string]string{"factor": four, "head": sound["head"] + "interactions = true\n"}, func(c *design.Plan) any { return c.Interactions }, true},
		{"treatments that do not separate the factors, compared as they stand",
			map[string]string{"factor": "[[factor]]\nname = \"a\"\nlevels = [0, 1]\n[[factor]]\nname = \"b\"\nlevels = [0, 1]\n",
				"head": sound["head"] + "treatments = [{a = 0, b = 0}, {a = 1, b = 1}]\n"}, func(c *design.Plan) any { return c.Interactions }, true},
		{"incomplete blocks", map[string]string{"block": "[block]\ncount = 6\nruns = 2\n"}, func(c *design.Plan) any { return c.Block }, design.Block{Name: "block", Count: 6, Runs: 2}},
		{"one run of each in two blocks", map[string]string{"block": "[block]\ncount = 2\nreplicates = 1\n"}, func(c *design.Plan) any { return c.Freedom() },
			design.Freedom{Runs: 6, Blocks: 2, Drift: 1, Treatments: 2, Residual: 1}},
		{"drift that is shared by default", map[string]string{"rest": "[drift]\nmodel = \"none\"\n"}, func(c *design.Plan) any { return c.Drift }, design.Drift{Model: "none"}},
		{"drift that is linear by default", map[string]string{"rest": "[drift]\nown = true\n"}, func(c *design.Plan) any { return c.Drift }, design.Drift{Model: "linear", Own: true}},
		{"relative margin on the raw scale", map[string]string{"response": sound["response"] + "margin = \"2%\"\nscale = \"raw\"\n"}, func(c *design.Plan) any { return c.Responses[0].Scale }, "raw"},
		{"percentage with a narrow blank", map[string]string{"response": sound["response"] + "margin = \"2.5\u202f%\"\n"}, func(c *design.Plan) any { return c.Responses[0].Margin },
			design.Amount{Set: true, Value: 0.025, Relative: true}},
		{"underscores and bases in whole numbers", map[string]string{"head": sound["head"] + "seed = 0xff\n", "block": "[block]\ncount = 1_0\nreplicates = +2\n"},
			func(c *design.Plan) any {
				return []uint64{*c.Seed, uint64(c.Block.Count), uint64(c.Block.Replicates)}
			}, []uint64{255, 10, 2}},
		{"largest seed", map[string]string{"head": sound["head"] + "seed = 9_223_372_036_854_775_807\n"}, func(c *design.Plan) any { return *c.Seed }, uint64(design.MaxSeed)},
		{"energy instead of charge", map[string]string{"rest": "[budget]\nrun = \"0.5 min\"\ncapacity = \"0.11 kWh\"\nusable = 0.5\nuse = \"5 Wh\"\n"},
			func(c *design.Plan) any { return c.Budget.Supply.Runs() }, 11},
		{"a bench supply has no capacity", map[string]string{"rest": "[budget]\nrun = \"1 h 2 min 3.5 s\"\n"}, func(c *design.Plan) any { return *c.Budget }, design.Budget{Run: 3723500 * time.Millisecond}},
		{"names in other scripts", map[string]string{"response": "[[response]]\nname = \"Schub_µN.2\"\nbetter = \"higher\"\n"}, func(c *design.Plan) any { return c.Responses[0].Name }, "Schub_µN.2"},
		{"tables written inline", map[string]string{"factor": "", "block": "", "head": sound["head"] + "factor = [{name = \"a\", levels = [+1, -1]}]\nblock = {count = 2, replicates = 2}\n"},
			func(c *design.Plan) any { return c.Factors[0].Levels }, []string{"+1", "-1"}},
	} {
		text, _ := assemble(c.parts)
		campaign, err := plan.Parse("campaign.toml", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if diff := cmp.Diff(c.want, c.ask(campaign)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestReadWithoutFile(t *testing.T) {
	_, err := plan.Read(filepath.Join(t.TempDir(), "campaign.toml"))
	if !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "fairrun init") {
		t.Errorf("Read = %v, want that the file is not there and what writes one", err)
	}
	if fault.In(err) != nil {
		t.Errorf("Faults(%v) = %v, want none", err, fault.In(err))
	}
	if _, err := plan.Read(t.TempDir()); err == nil {
		t.Error("Read of a folder gave no error")
	}
}

func TestReadStopsAtLargeFiles(t *testing.T) {
	path := filepath.Join(t.TempDir(), "campaign.toml")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, 200<<20); err != nil {
		t.Skip(err)
	}
	_, err := plan.Read(path)
	if want := path + ": larger than 1 MiB, which no plan is; is this the right file?"; err == nil || err.Error() != want {
		t.Errorf("Read = %v, want %s", err, want)
	}
}

func BenchmarkRead(b *testing.B) {
	data, err := os.ReadFile(filepath.Join("testdata", "thruster.toml"))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := plan.Parse("thruster.toml", data); err != nil {
			b.Fatal(err)
		}
	}
}
