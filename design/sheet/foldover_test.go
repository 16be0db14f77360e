package sheet

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/design/plan"
	"fairrun/design/table"
)

// screenPlan is a screen of five factors in eight runs: D = AB, E = AC.
const screenPlan = `title = "Screening"
scope = "pod thruster no. 3"
seed = 41
[[factor]]
name = "prop"
levels = ["A", "B"]
baseline = "A"
[[factor]]
name = "nozzle"
levels = ["short", "long"]
baseline = "short"
[[factor]]
name = "coating"
levels = ["no", "yes"]
baseline = "no"
[[factor]]
name = "gearing"
levels = [10, 20]
baseline = 20
[[factor]]
name = "strut"
levels = ["thin", "thick"]
baseline = "thick"
[block]
name = "pack"
count = 2 # packs
replicates = 1
[drift]
model = "linear"
[[response]]
name = "pull"
better = "higher"
[order]
fraction = 8 # eight
`

func foldOver(t *testing.T, which string, blocks int) (before, after *Sheet) {
	t.Helper()
	before, after, err := FoldOver(".", which, blocks, extendedAt)
	if err != nil {
		t.Fatal(err)
	}
	return before, after
}

// What is done stays, byte for byte; the blocks added hold the mirror image; nothing looks edited; and
// the record says what was drawn.
func TestFoldOverKeepsTheSheet(t *testing.T) {
	drawFor(t, screenPlan, table.Dialect{Separator: ';', DecimalComma: true, Newline: "\r\n", BOM: true})
	if _, err := Record(".", 1, []Assignment{{"pull", "12.5"}, {"note", "first; one"}}, false, drawnAt); err != nil {
		t.Fatal(err)
	}
	sheet, text := read(t, File), read(t, PlanFile)
	before, after := foldOver(t, design.FoldAll, 0)
	if len(before.Runs) != 16 || len(after.Runs) != 32 {
		t.Fatalf("%d runs became %d, want 16 and 32", len(before.Runs), len(after.Runs))
	}
	if !strings.HasPrefix(read(t, File), sheet) {
		t.Errorf("rows were changed:\n%s", read(t, File))
	}
	want := strings.NewReplacer("count = 2 #", "count = 4 #", "fraction = 8 # eight\n", "fraction = 8 # eight\nfold_over = \"all\"\nfold_over_blocks = [3, 4]\n").Replace(text)
	if diff := cmp.Diff(want, read(t, PlanFile)); diff != "" {
		t.Errorf("plan (-want +got):\n%s", diff)
	}
	if after.Changes != nil {
		t.Errorf("changes are reported: %q", after.Changes)
	}
	// A run and its mirror image differ in all five factors; every treatment of the screen has its image
	// once in each block added.
	opposite := map[string]string{"A": "B", "B": "A", "short": "long", "long": "short", "no": "yes", "yes": "no", "10": "20", "20": "10", "thin": "thick", "thick": "thin"}
	times := map[string]int{}
	for _, r := range after.Runs[16:] {
		var image []string
		for _, level := range r.Levels {
			image = append(image, opposite[level])
		}
		times[strings.Join(image, " ")]++
	}
	for _, r := range after.Runs[:8] {
		if times[strings.Join(r.Levels, " ")] != 2 {
			t.Errorf("the image of %v is run %d times in two packs", r.Levels, times[strings.Join(r.Levels, " ")])
		}
	}
	if diff := cmp.Diff([]Drawing{{drawnAt, 2, ""}, {extendedAt, 2, "all"}}, after.Draw.Draws); diff != "" {
		t.Errorf("draws (-want +got):\n%s", diff)
	}
	if f := after.Draw.Order.Fold; f == nil || f.Drawn.Seed != 42 || f.Drawn.Plan.Treatments != 8 || after.Draw.Order.Seed != 41 {
		t.Errorf("second draw %+v", f)
	}
	if _, err := after.Draw.Order.Set(); err != nil {
		t.Error(err)
	}

	// The campaign is the one that a plan with these keys draws.
	c, err := plan.Read(PlanFile)
	if err != nil {
		t.Fatal(err)
	}
	again, err := NewOrder(c, 41)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(after.Draw.Order.Blocks, again.Blocks); diff != "" {
		t.Errorf("order (-extended +drawn):\n%s", diff)
	}
}

// An edit of the plan before the fold-over is still reported after it, and nothing else is.
func TestFoldOverKeepsEditsInSight(t *testing.T) {
	drawFor(t, screenPlan, table.Dialect{})
	write(t, PlanFile, strings.Replace(read(t, PlanFile), `title = "Screening"`, `title = "Which matter"`, 1))
	_, after := foldOver(t, design.FoldAll, 1)
	if diff := cmp.Diff([]string{`title was "Screening" and is "Which matter"`}, after.Changes); diff != "" {
		t.Errorf("changes (-want +got):\n%s", diff)
	}
}

// Blocks added later go to the runs and to their fold-over in turn.
func TestExtendAfterFoldOver(t *testing.T) {
	drawFor(t, screenPlan, table.Dialect{})
	extend(t, 1)
	foldOver(t, "gearing", 2)
	for _, c := range []struct {
		add   int
		folds string
	}{{1, "[4, 5, 6]"}, {3, "[4, 5, 6, 8]"}} {
		before, after := extend(t, c.add)
		if diff := cmp.Diff(before.Draw.Runs, after.Draw.Runs[:len(before.Draw.Runs)]); diff != "" {
			t.Errorf("runs that were drawn (-before +after):\n%s", diff)
		}
		if after.Changes != nil {
			t.Errorf("changes are reported: %q", after.Changes)
		}
		if text := read(t, PlanFile); !strings.Contains(text, "fold_over_blocks = "+c.folds+"\n") {
			t.Errorf("the plan has not %s:\n%s", c.folds, text)
		}
		if _, err := after.Draw.Order.Set(); err != nil {
			t.Error(err)
		}
	}
}

// Screens of every kind can be folded over.
func TestFoldOverKinds(t *testing.T) {
	for _, c := range []struct{ plan, which string }{
		{screenPlan + "warmup = 1\nreference = [3]\n", "all"},
		{screenPlan + "carry_over = true\n", "all"},
		{strings.Replace(screenPlan, `baseline = "A"`, `hard_to_change = true`, 1), "all"},
		{strings.NewReplacer(`baseline = "A"`, `hard_to_change = true`, `baseline = "short"`, `hard_to_change = true`, "baseline = 20", `hard_to_change = true`).Replace(screenPlan), "all"},
		{strings.Replace(screenPlan, "count = 2 # packs\nreplicates = 1", "count = 4\nruns = 4", 1), "all"},
		{strings.Replace(screenPlan, `"linear"`, `"position"`, 1), "prop"},
		{strings.Replace(screenPlan, "fraction = 8", "plackett_burman = 12", 1), "all"},
		{strings.Replace(screenPlan, "fraction = 8", "plackett_burman = 12", 1), "strut"},
		{strings.Replace(screenPlan, "[drift]", "[specimens]\nname = \"motor\"\ncount = 2\n[drift]", 1), "all"},
		{strings.Replace(screenPlan, "[drift]\n", "[drift]\nown = true\n", 1), "nozzle"},
	} {
		drawFor(t, c.plan, table.Dialect{})
		old := read(t, File)
		before, after := foldOver(t, c.which, 0)
		if !strings.HasPrefix(read(t, File), old) {
			t.Errorf("rows were changed in\n%s", c.plan)
		}
		if diff := cmp.Diff(before.Draw.Runs, after.Draw.Runs[:len(before.Draw.Runs)]); diff != "" {
			t.Errorf("runs that were drawn (-before +after):\n%s", diff)
		}
		if after.Changes != nil || len(after.Runs) != 2*len(before.Runs) {
			t.Errorf("%d runs became %d, changes %q, in\n%s", len(before.Runs), len(after.Runs), after.Changes, c.plan)
		}
		for _, r := range after.Runs {
			if r.Role != Drawn && strings.Join(r.Levels, " ") != "A short no 20 thick" {
				t.Errorf("run %d runs %v at a fixed place", r.Run, r.Levels)
			}
		}
		if _, err := after.Draw.Order.Set(); err != nil {
			t.Errorf("%v in\n%s", err, c.plan)
		}
		extend(t, 2)
	}
}

func TestFoldOverRefuses(t *testing.T) {
	drawFor(t, screenPlan, table.Dialect{})
	sheet, text, draw := read(t, File), read(t, PlanFile), read(t, DrawFile)
	refused := func(which string, blocks int, want string) {
		t.Helper()
		if _, _, err := FoldOver(".", which, blocks, extendedAt); message(err) != want {
			t.Errorf("error %v, want %s", err, want)
		}
	}
	refused("rudder", 0, `campaign.toml: there is no factor "rudder" to fold over: allowed: all, prop, nozzle, coating, gearing, strut`)
	refused("all", 2000, "campaign.toml: with 2000 more packs there would be more than 10000 runs, the most of a plan")
	if read(t, File) != sheet || read(t, PlanFile) != text || read(t, DrawFile) != draw {
		t.Error("something was written")
	}
	// The screen was edited since the draw.
	write(t, PlanFile, strings.Replace(text, "fraction = 8", "fraction = 16", 1))
	if _, _, err := FoldOver(".", "all", 0, extendedAt); err == nil {
		t.Error("another screen was folded over")
	}
	// What is asked for stands in the plan already: it is not what was drawn, and becomes so.
	write(t, PlanFile, text+"fold_over = \"all\"\n")
	refused("prop", 0, "campaign.toml: the screen is not the one that was drawn: put [order] back as it was")
	_, after := foldOver(t, "all", 0)
	if after.Changes != nil {
		t.Errorf("changes are reported: %q", after.Changes)
	}
	refused("all", 0, `campaign.toml: the screen is folded over already: fold_over = "all"`)
}

// A record as it was written before there were fold-overs reads as it did, and one with a second part
// that was edited is refused.
func TestFoldOverRecord(t *testing.T) {
	drawFor(t, screenPlan, table.Dialect{})
	for _, key := range []string{"fold", "fold_over"} {
		if strings.Contains(read(t, DrawFile), `"`+key+`"`) {
			t.Errorf("a record without a fold-over has the key %q", key)
		}
	}
	foldOver(t, "all", 1)
	record := read(t, DrawFile)
	for _, edit := range [][2]string{{`"at":[2]`, `"at":[1]`}, {`"treatments":[8,9,`, `"treatments":[9,8,`}} {
		if strings.Count(record, edit[0]) != 1 {
			t.Fatalf("the record has not %s", edit[0])
		}
		write(t, DrawFile, strings.Replace(record, edit[0], edit[1], 1))
		s, err := Open(".")
		if err == nil {
			_, err = s.Draw.Order.Set()
		}
		if err == nil {
			t.Errorf("a record with %s was taken", edit[1])
		}
	}
}

// The expected time is the mean over the orders that the plan draws, a second part or not.
func TestCostOfFoldOver(t *testing.T) {
	text := strings.Replace(screenPlan, "count = 2", "count = 4", 1) + "fold_over = \"all\"\nfold_over_blocks = [2, 4]\nwarmup = 1\n" +
		"[budget]\nrun = \"30 s\"\nrest = \"1 min\"\nswap = \"4 min\"\nchangeover.prop = \"5 min\"\nchangeover.strut = \"2 min\"\n"
	c, err := plan.Parse(PlanFile, []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	c.Drift.Model = design.DriftNone // so that every order is as likely
	sum, squares, n := 0.0, 0.0, 2000.0
	for seed := range int(n) {
		d, err := NewOrder(c, uint64(seed)*10)
		if err != nil {
			t.Fatal(err)
		}
		minutes := cost.BenchTime(c, d.Blocks).Minutes()
		sum += minutes
		squares += minutes * minutes
	}
	mean := sum / n
	se := math.Sqrt((squares/n - mean*mean) / n)
	if got := cost.Of(c).Time.Minutes(); math.Abs(got-mean) > 4*se {
		t.Errorf("expected %.2f min, the mean over %v orders is %.2f ± %.2f", got, n, mean, se)
	}
}
