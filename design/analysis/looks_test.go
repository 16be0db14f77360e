package analysis_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fairrun/design/analysis"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/table"
	"fairrun/stats/verdict"
)

// drawnAt is when the campaigns of these tests are drawn; run n is made n minutes later.
var drawnAt = time.Date(2026, time.May, 9, 9, 0, 0, 0, time.UTC)

// folder is a campaign of two propellers, four packs and four runs in each, with keys
// of [analysis], of which only the blocks given are measured, with a noise of sd.
type folder struct {
	t   *testing.T
	dir string
	sd  float64
}

func begin(t *testing.T, analysisKeys string, sd float64) folder {
	t.Helper()
	f := folder{t, t.TempDir(), sd}
	text := "title = \"Props\"\nscope = \"pod thruster no. 3\"\nseed = 41\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n" +
		"[block]\nname = \"pack\"\nrandom = false\ncount = 4\nreplicates = 2\n[[response]]\nname = \"thrust\"\nbetter = \"higher\"\nmargin = 2\n[analysis]\n" + analysisKeys
	path := filepath.Join(f.dir, sheet.PlanFile)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	c, err := plan.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	d, err := sheet.NewOrder(c, 41)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sheet.Write(f.dir, c, d, drawnAt, table.Dialect{}); err != nil {
		t.Fatal(err)
	}
	return f
}

// measure enters the results of the first runs.
func (f folder) measure(runs int) {
	f.t.Helper()
	for n := 1; n <= runs; n++ {
		rng := rand.New(rand.NewPCG(9, uint64(n)))
		set := []sheet.Assignment{{Name: "thrust", Value: fmt.Sprintf("%.3f", 100+f.sd*rng.NormFloat64())}}
		if _, err := sheet.Record(f.dir, n, set, false, drawnAt.Add(time.Duration(n)*time.Minute)); err != nil {
			f.t.Fatal(err)
		}
	}
}

// extend adds blocks just after run n was made.
func (f folder) extend(blocks, n int) {
	f.t.Helper()
	if _, _, err := sheet.Extend(f.dir, blocks, drawnAt.Add(time.Duration(n)*time.Minute+time.Second)); err != nil {
		f.t.Fatal(err)
	}
}

// edit replaces text in the plan.
func (f folder) edit(old, new string) {
	f.t.Helper()
	path := filepath.Join(f.dir, sheet.PlanFile)
	text, err := os.ReadFile(path)
	if err != nil || !strings.Contains(string(text), old) {
		f.t.Fatal(old, err)
	}
	if err := os.WriteFile(path, []byte(strings.Replace(string(text), old, new, 1)), 0o644); err != nil {
		f.t.Fatal(err)
	}
}

func (f folder) verdict() *verdict.Response {
	f.t.Helper()
	s, err := sheet.Open(f.dir)
	if err != nil {
		f.t.Fatal(err)
	}
	v, err := analysis.VerdictOver(f.t.Context(), s, 0)
	if err != nil {
		f.t.Fatal(err)
	}
	return &v.Responses[0]
}

// said is the message of a check, "" if there is none, and whether it is flagged.
func said(r *verdict.Response, name string) (message string, flag bool) {
	k := slices.IndexFunc(r.Checks, func(c verdict.Check) bool { return c.Name == name })
	if k < 0 {
		return "", false
	}
	return r.Checks[k].Message, r.Checks[k].Flag
}

func wantSaid(t *testing.T, r *verdict.Response, name string, flag bool, parts ...string) {
	t.Helper()
	message, flagged := said(r, name)
	if message == "" || flagged != flag {
		t.Errorf("check %q: %q, flagged %v, want it flagged %v", name, message, flagged, flag)
	}
	for _, part := range parts {
		if !strings.Contains(message, part) {
			t.Errorf("check %q: %q, want %q in it", name, message, part)
		}
	}
}

// Judging at 0.05 twice and four times at equal steps raises false alarms to 0.083
// and 0.126 (Armitage, McPherson & Rowe 1969, from memory).
func TestUnplannedLook(t *testing.T) {
	f := begin(t, "", 1)
	f.measure(8)
	r := f.verdict()
	if r.Looks != nil {
		t.Errorf("look %+v, want none: none is planned", *r.Looks)
	}
	wantSaid(t, r, "looks", true, "2 of 4 packs are complete", "from 5 % to about 8.31 %", "after every pack to about 12.6 %")
	f.measure(16)
	if message, _ := said(f.verdict(), "looks"); message != "" {
		t.Errorf("at the end: %q, want nothing said", message)
	}
}

// Nothing is said of looks before there are results.
func TestNoResultsNoLook(t *testing.T) {
	if message, _ := said(begin(t, "", 1).verdict(), "looks"); message != "" {
		t.Errorf("%q, want nothing said", message)
	}
}

// With two looks, Lan & DeMets' O'Brien–Fleming-like normal values 2.963 and 1.969
// (from memory) are levels of 0.00305 and 0.0490. Two levels are one comparison.
func TestPlannedLooks(t *testing.T) {
	f := begin(t, "looks = 2\n", 1)
	f.measure(3)
	r := f.verdict()
	if r.Looks == nil || r.Looks.Done != 0 || r.Looks.Of != 2 || r.Comparisons[0].Low.Known() {
		t.Errorf("before the first look: %+v, interval from %v", r.Looks, r.Comparisons[0].Low)
	}
	wantSaid(t, r, "looks", false, "no pack is complete: nothing is concluded before the first look, after 2 packs", "pack 1 is not complete")

	f.measure(8)
	r = f.verdict()
	if l := r.Looks; l == nil || l.Done != 1 || l.Of != 2 || l.Fraction != 0.5 || fmt.Sprintf("%.3g", float64(l.Level)) != "0.00305" {
		t.Errorf("look %+v, want 1 of 2, at 0.5, level 0.00305", l)
	}
	wantSaid(t, r, "looks", false, "this is look 1 of 2, after 2 of 4 packs", "compared with 0.00305", "nothing is concluded yet; still open: 1; the next look is after 4 packs")

	f.measure(10)
	wantSaid(t, f.verdict(), "looks", false, "this is look 1 of 2", "pack 3 is not complete: the runs there are in the estimates, but do not count towards the look")

	f.measure(16)
	r = f.verdict()
	if l := r.Looks; l == nil || l.Done != 2 || l.Fraction != 1 || fmt.Sprintf("%.2g", float64(l.Level)) != "0.049" {
		t.Errorf("look %+v, want 2 of 2, at 1, level 0.049", l)
	}
	wantSaid(t, r, "looks", false, "this is look 2 of 2, after 4 of 4 packs", "this is the last look")
}

// A look between those planned has a level of its own and a price. With Pocock-like
// spending looks at 1/2 and 1 have normal critical values 2.1570 and 2.2010, and one at
// 3/4 after that at 1/2 has 2.3124: 0.05 log(1+(e−1)t) is spent. Crossing any of the
// three has a chance of 0.05513 (quadrature over the path, with scipy).
func TestLookBetween(t *testing.T) {
	f := begin(t, "looks = 2\nspending = \"pocock\"\n", 1)
	f.measure(12)
	r := f.verdict()
	if l := r.Looks; l == nil || l.Done != 2 || l.Fraction != 0.75 || !(l.Level > 0 && l.Level < 0.05) {
		t.Errorf("look %+v, want the second, at 0.75", l)
	}
	wantSaid(t, r, "looks", true, "3 of 4 packs are complete, and looks are planned after 2, 4;", "this one takes the place of that after 4", "false alarms rise from 5 % to about 5.51 %", "this is the last look")
}

// An extension that the noise asked for is parted from one that it did not ask for. With a
// margin of 2, 8 runs of each level and a noise of 6 find it seldom; with a noise of 0.3
// always.
func TestExtensionByTheNoise(t *testing.T) {
	noisy := begin(t, "", 6)
	noisy.measure(16)
	noisy.extend(2, 16)
	noisy.measure(24)
	wantSaid(t, noisy.verdict(), "extension", false, "2 packs were added on 2026-05-09, with 4 of 4 packs complete", "packs more than planned, so the noise alone explains it")

	quiet := begin(t, "", 0.3)
	quiet.measure(16)
	quiet.extend(4, 16)
	quiet.measure(32)
	// Looks at the half and at the end, both at 0.05: 0.083.
	wantSaid(t, quiet.verdict(), "extension", true, "4 packs were added on 2026-05-09, with 4 of 4 packs complete", "asked for no more than planned", "raises false alarms from 5 % to about 8.31 %")

	// What the noise says later does not excuse it.
	early := begin(t, "", 0.3)
	early.extend(1, 0)
	wantSaid(t, early.verdict(), "extension", false, "1 pack was added on 2026-05-09, with 0 of 4 packs complete: no result was known")
}

// An extension before the end moves the last look; one after it adds a look.
func TestExtensionsAndLooks(t *testing.T) {
	f := begin(t, "looks = 2\n", 6)
	f.measure(8)
	f.extend(2, 8)
	if l := f.verdict().Looks; l.Done != 1 || l.Of != 2 || l.Fraction != verdict.Number(2.0/6) {
		t.Errorf("extended before the end: look %+v, want 1 of 2 at a third", *l)
	}
	g := begin(t, "looks = 2\n", 6)
	g.measure(16)
	g.extend(2, 16)
	if l := g.verdict().Looks; l.Done != 2 || l.Of != 3 {
		t.Errorf("extended after the end, at its look: look %+v, want 2 of 3", *l)
	}
	g.measure(24)
	if l := g.verdict().Looks; l.Done != 3 || l.Of != 3 || l.Fraction != 1 {
		t.Errorf("extended after the end: look %+v, want 3 of 3 at the end", *l)
	}
}

// What can bend a result is parted from what cannot, and what it changes is said.
func TestEdits(t *testing.T) {
	f := begin(t, "", 1)
	f.edit("margin = 2", "margin = 5")
	wantSaid(t, f.verdict(), "plan", false, "before any result", `response "thrust": margin was 2 and is 5`)
	f.measure(16)
	r := f.verdict()
	if r.Comparisons[0].Verdict != "equal" {
		t.Fatalf("%+v, want it equal: the noise is 1 and the margin 5", r.Comparisons[0])
	}
	wantSaid(t, r, "plan", true, "there are results", "By the plan as drawn every verdict would be the same")
	f.edit("margin = 5", "margin = 0.1")
	wantSaid(t, f.verdict(), "plan", true, "By the plan as drawn thrust: B against A would be equal, not unresolved")

	g := begin(t, "", 1)
	g.measure(16)
	g.edit("title = \"Props\"", "title = \"Propellers\"")
	wantSaid(t, g.verdict(), "plan", false, "in what no verdict depends on: title was")
	g.edit("[analysis]\n", "[readings.start_volts]\nunit = \"V\"\nlow = 24\n[analysis]\n")
	wantSaid(t, g.verdict(), "plan", false, "in what no verdict depends on: title was", "reading \"start_volts\"")
	g.edit("[analysis]\n", "[drift]\nmodel = \"none\"\n[analysis]\nalpha = 0.2\n")
	wantSaid(t, g.verdict(), "plan", true, "drift: model was linear and is none; analysis: alpha was 0.05 and is 0.2")
}

// A response read the other way round has another best, though each comparison keeps its word.
func TestEditOfBetter(t *testing.T) {
	f := begin(t, "", 1)
	f.measure(16)
	s, err := sheet.Open(f.dir)
	if err != nil {
		t.Fatal(err)
	}
	for i := range s.Runs {
		if r := &s.Runs[i]; r.Levels[0] == "B" {
			set := []sheet.Assignment{{Name: "thrust", Value: fmt.Sprintf("%.1f", 90+0.1*float64(i%3))}}
			if _, err := sheet.Record(f.dir, r.Run, set, true, drawnAt); err != nil {
				t.Fatal(err)
			}
		}
	}
	f.edit("better = \"higher\"", "better = \"lower\"")
	wantSaid(t, f.verdict(), "plan", true, "thrust: the best would be A, not B")
}

func TestVoidWithoutAReason(t *testing.T) {
	f := begin(t, "", 1)
	f.measure(16)
	void := func(run int, note string) {
		set := []sheet.Assignment{{Name: "status", Value: "void"}, {Name: "note", Value: note}}
		if _, err := sheet.Record(f.dir, run, set, true, drawnAt); err != nil {
			t.Fatal(err)
		}
	}
	void(3, "cable came off")
	for _, c := range f.verdict().Checks {
		if strings.Contains(c.Message, "without a reason") {
			t.Errorf("%q, though run 3 has a reason", c.Message)
		}
	}
	void(5, "")
	found := false
	for _, c := range f.verdict().Checks {
		found = found || c.Flag && strings.HasPrefix(c.Message, "run 5 is void without a reason")
	}
	if !found {
		t.Error("nothing is said of run 5, void without a reason")
	}
}
