package plan_test

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/plan"

	"github.com/google/go-cmp/cmp"
)

func parse(t *testing.T, text string) *design.Plan {
	t.Helper()
	c, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The form, written out by hand from the plan beside it, is what draw records on disk hold: a
// change to it makes every earlier campaign look edited.
func TestCanonicalForm(t *testing.T) {
	for _, c := range []struct{ plan, form string }{
		{"thruster.toml", `{"schema":"fairrun.plan/2",` +
			`"title":"Field weakening and propellers on the pod thruster","scope":"pod thruster no. 3",` +
			`"factors":[{"name":"weakening","unit":"A","levels":["0","7.50","15e0"],"numeric":true,"baseline":"0","hard_to_change":false},` +
			`{"name":"prop","levels":["A","B, 3 blades"],"numeric":false,"baseline":"A","hard_to_change":false}],` +
			`"treatments":[["0","A"],["0","B, 3 blades"],["7.50","A"],["15e0","B, 3 blades"]],"interactions":false,` +
			`"block":{"name":"pack","count":4,"replicates":2},"drift":{"model":"quadratic","own":true},` +
			`"responses":[{"name":"spin_up","unit":"ms","better":"lower","margin":{"set":true,"value":0.02,"relative":true},"noise":{"set":true,"value":0.015,"relative":true},"scale":"log"},` +
			`{"name":"pull","unit":"N","better":"higher","margin":{"set":true,"value":0.5,"relative":false},"noise":{"set":true,"value":0.3,"relative":false},"scale":"log"},` +
			`{"name":"Leistung","better":"lower","scale":"raw"}],` +
			`"analysis":{"alpha":0.01,"power":0.8,"compare":"baseline","looks":2,"spending":"pocock"},` +
			`"readings":[{"name":"start_volts","unit":"V","low":24},{"name":"start_temp","unit":"°C"},{"name":"water_temp","unit":"°C","high":30}],` +
			`"budget":{"supply":{"capacity":5,"unit":"Ah","usable":0.8,"per_run":0.2},"run":40000000000,"rest":180000000000,"swap":390000000000,` +
			`"changeover":[{"factor":"weakening","time":10000000000},{"factor":"prop","time":240000000000}]}}`},
		{"days.toml", `{"schema":"fairrun.plan/2",` +
			`"title":"Field weakening over three days","scope":"pod thruster no. 3",` +
			`"factors":[{"name":"weakening","unit":"A","levels":["0","4","8","12"],"numeric":true,"hard_to_change":false}],"interactions":false,` +
			`"block":{"name":"charge","count":6,"runs":2},` +
			`"session":{"name":"day","blocks":2,"hours":5400000000000},"items":{"name":"pack","labels":["P1","P2, the old one"]},` +
			`"drift":{"model":"none","own":false},` +
			`"responses":[{"name":"spin_up","better":"lower","scale":"raw"}],` +
			`"analysis":{"alpha":0.05,"power":0.9,"compare":"pairs","looks":1},` +
			`"readings":[{"name":"start_volts","unit":"V"},{"name":"start_temp","unit":"°C"}],` +
			`"budget":{"run":40000000000,"rest":180000000000,"hours":14400000000000}}`},
	} {
		data, err := os.ReadFile(filepath.Join("testdata", c.plan))
		if err != nil {
			t.Fatal(err)
		}
		campaign := parse(t, string(data))
		if diff := cmp.Diff(c.form, string(campaign.Canonical())); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.plan, diff)
		}
		if got, want := campaign.Hash(), fmt.Sprintf("sha256:%x", sha256.Sum256([]byte(c.form))); got != want {
			t.Errorf("%s: Hash = %s, want %s", c.plan, got, want)
		}
	}
}

// What does not change the meaning does not change the hash.
func TestHashIsOfTheMeaning(t *testing.T) {
	text, _ := assemble(map[string]string{"response": sound["response"] + "margin = \"2%\"\n"})
	hash := parse(t, text).Hash()
	for _, c := range []struct{ name, old, new string }{
		{"the seed", "scope =", "seed = 7\nscope ="},
		{"a comment", "[block]", "# four packs\n[block] # of them"},
		{"layout", "levels = [0, 4, 8]", "levels=[\n0,4 ,\t8,]"},
		{"the order of keys", "count = 2\nreplicates = 2\n", "replicates = 2\ncount = 2\n"},
		{"defaults written out", "margin = \"2%\"\n", "margin = \"2 %\"\nscale = \"log\"\n[drift]\nmodel = \"linear\"\n[analysis]\nalpha = 5e-2\n[readings.start_temp]\n"},
		{"ends of lines", "\n", "\r\n"},
	} {
		edited := strings.ReplaceAll(text, c.old, c.new)
		if edited == text {
			t.Fatalf("%s: nothing to edit", c.name)
		}
		if got := parse(t, edited).Hash(); got != hash {
			t.Errorf("%s changed the hash", c.name)
		}
	}
}

func TestDifferences(t *testing.T) {
	base := map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nunit = \"A\"\nlevels = [0, 4, 8]\nbaseline = 0\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n",
		"response": "[[response]]\nname = \"spin_up\"\nunit = \"ms\"\nbetter = \"lower\"\nmargin = \"2%\"\n" +
			"[[response]]\nname = \"pull\"\nunit = \"N\"\nbetter = \"higher\"\nmargin = 0.5\n",
		"rest": "[readings.start_volts]\nlow = 24\n[budget]\nrun = \"40 s\"\n",
	}
	before, _ := assemble(base)
	old := parse(t, before).Canonical()
	for _, c := range []struct {
		old, new string
		want     []string
	}{
		{"", "", nil},
		{"title = \"Weakening\"", "title = \"More\"", []string{`title was "Weakening" and is "More"`}},
		{"margin = \"2%\"", "margin = \"3.5%\"", []string{`response "spin_up": margin was 2% and is 3.5%`}},
		{"margin = \"2%\"", "", []string{`response "spin_up": margin was 2% and is none`, `response "spin_up": scale was log and is raw`}},
		{"margin = 0.5", "margin = 0.25", []string{`response "pull": margin was 0.5 and is 0.25`}},
		{"[0, 4, 8]", "[0, 4.0, 8]", []string{`factor "weakening": levels was 0, 4, 8 and is 0, 4.0, 8`}},
		{"baseline = 0", "baseline = 8", []string{`factor "weakening": baseline was 0 and is 8`}},
		{"[\"A\", \"B\"]", "[\"A\", \"B\"]\nbaseline = \"A\"", []string{`factor "prop": baseline was none and is "A"`}},
		{"name = \"prop\"", "name = \"screw\"", []string{`factor "screw" was added`, `factor "prop" was taken out`}},
		{"[[response]]\nname = \"pull\"", "[[response]]\nname = \"watts\"\nbetter = \"lower\"\n[[response]]\nname = \"pull\"", []string{`response "watts" was added`}},
		{"replicates = 2", "replicates = 3", []string{`block: size was replicates = 2 and is replicates = 3`}},
		{"count = 2\nreplicates = 2", "count = 9\nruns = 3", []string{`block: count was 2 and is 9`, `block: size was replicates = 2 and is runs = 3`}},
		{"[readings.start_volts]", "[drift]\nmodel = \"none\"\n[analysis]\nalpha = 0.1\n[readings.start_volts]", []string{`drift: model was linear and is none`, `analysis: alpha was 0.05 and is 0.1`}},
		{"[readings.start_volts]", "[analysis]\nlooks = 2\nspending = \"pocock\"\n[readings.start_volts]", []string{`analysis: looks was 1 and is 2`, `analysis: spending was obrien-fleming and is pocock`}},
		{"[readings.start_volts]", "[specimens]\nname = \"motor\"\ncount = 2\n[readings.start_volts]", []string{`specimens was added`}},
		{"[readings.start_volts]", "[analysis]\ncovariates = [\"start_volts\", \"start_temp\"]\n[readings.start_volts]", []string{`analysis: covariates was none and is start_volts, start_temp`}},
		{"[readings.start_volts]", "[analysis]\nlooks = 2\nspending = \"obrien-fleming\"\n[readings.start_volts]", []string{`analysis: looks was 1 and is 2`}},
		{"low = 24", "low = 23.5\nhigh = 25.2", []string{`reading "start_volts": low was 24 and is 23.5`, `reading "start_volts": high was none and is 25.2`}},
		{"run = \"40 s\"", "run = \"1 min\"\ncapacity = \"5 Ah\"\nuse = \"0.2 Ah\"", []string{
			`budget: capacity was unlimited and is 5 Ah`, `budget: usable share was all and is 80%`, `budget: use of a run was nothing and is 0.2 Ah`, `budget: run was 40 s and is 60 s`}},
		{"[budget]\nrun = \"40 s\"\n", "", []string{`budget was taken out`}},
		{"run = \"40 s\"", "run = \"40 s\"\nhours = \"30 h\"", []string{`budget: hours was unlimited and is 108000 s`}},
		{"[budget]", "[session]\nname = \"day\"\nblocks = 2\n[budget]", []string{`session was added`}},
		{"[budget]", "[items]\nlabels = [\"P1\", \"P2\"]\n[budget]", []string{`items was added`}},
		{"scope =", "treatments = [{weakening = 0, prop = \"A\"}, {weakening = 4, prop = \"A\"}, {weakening = 8, prop = \"B\"}]\nscope =",
			[]string{`treatments was all combinations and is "0 A", "4 A", "8 B"`}},
		{"scope =", "interactions = false\nscope =", []string{`interactions was true and is false`}},
	} {
		after := strings.Replace(before, c.old, c.new, 1)
		got, err := design.Differences(old, parse(t, after).Canonical())
		if err != nil {
			t.Errorf("%q: %v", c.new, err)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%q for %q (-want +got):\n%s", c.new, c.old, diff)
		}
	}
}

// What shapes sessions and items, reported when it is edited.
func TestDifferencesOfSessions(t *testing.T) {
	base := map[string]string{"rest": "[session]\nname = \"day\"\nblocks = 2\n[items]\nname = \"cell\"\nlabels = [\"P1\", \"P2\"]\n[budget]\nrun = \"40 s\"\n"}
	before, _ := assemble(base)
	old := parse(t, before).Canonical()
	for _, c := range []struct {
		old, new string
		want     []string
	}{
		{"blocks = 2", "blocks = 3\nhours = \"6 h\"", []string{`session: blocks was 2 and is 3`, `session: hours was unlimited and is 21600 s`}},
		{"\"day\"", "\"trip\"", []string{`session: name was day and is trip`}},
		{"\"cell\"", "\"battery\"", []string{`items: name was cell and is battery`}},
		{"[\"P1\", \"P2\"]", "[\"P2\", \"P1\"]", []string{`items: labels was "P1", "P2" and is "P2", "P1"`}},
		{"[\"P1\", \"P2\"]", "[\"P1, P2\", \"P3\"]", []string{`items: labels was "P1", "P2" and is "P1, P2", "P3"`}},
	} {
		got, err := design.Differences(old, parse(t, strings.Replace(before, c.old, c.new, 1)).Canonical())
		if err != nil {
			t.Errorf("%q: %v", c.new, err)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%q for %q (-want +got):\n%s", c.new, c.old, diff)
		}
	}
}

func TestDifferencesOfOrder(t *testing.T) {
	head := "title = \"a\"\nscope = \"b\"\n[block]\ncount = 2\nreplicates = 2\n[[factor]]\nname = \"f\"\nlevels = [1, 2]\n"
	one, two := "[[response]]\nname = \"x\"\nbetter = \"lower\"\n", "[[response]]\nname = \"y\"\nbetter = \"lower\"\n"
	got, err := design.Differences(parse(t, head+one+two).Canonical(), parse(t, head+two+one).Canonical())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"order of responses was x, y and is y, x"}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
