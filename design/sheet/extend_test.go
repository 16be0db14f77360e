package sheet

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/plan"
	"fairrun/design/table"
)

// drawFor draws the order of a plan in a fresh folder, which becomes the current one.
func drawFor(t *testing.T, text string, dialect table.Dialect) {
	t.Helper()
	t.Chdir(t.TempDir())
	write(t, PlanFile, text)
	c, err := plan.Read(PlanFile)
	if err != nil {
		t.Fatal(err)
	}
	d, err := NewOrder(c, *c.Seed)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Write(".", c, d, drawnAt, dialect); err != nil {
		t.Fatal(err)
	}
}

var extendedAt = drawnAt.Add(24 * time.Hour)

func extend(t *testing.T, blocks int) (before, after *Sheet) {
	t.Helper()
	before, after, err := Extend(".", blocks, extendedAt)
	if err != nil {
		t.Fatal(err)
	}
	return before, after
}

// Every byte of the rows that are there is kept, in whatever dialect; new rows follow in the same one, the
// person's own columns empty.
func TestExtendKeepsTheSheet(t *testing.T) {
	drawFor(t, rolesPlan, table.Dialect{Separator: ';', DecimalComma: true, Newline: "\r\n", BOM: true})
	// A person adds a column of their own, fills in, and saves with a program that leaves out the last line end.
	lines := strings.Split(strings.TrimSuffix(read(t, File), "\r\n"), "\r\n")
	lines[0] = strings.Replace(lines[0], ";prop;", ";who;prop;", 1)
	for i := range lines[1:] {
		cells := strings.Split(lines[i+1], ";")
		lines[i+1] = strings.Join(append(append(cells[:3:3], "Ida"), cells[3:]...), ";")
	}
	lines[1] = strings.Replace(lines[1], ";;;;;;;", ";49,9;;  12,50 ;ok;;;\"warm; dry\"", 1)
	old := strings.Join(lines, "\r\n")
	write(t, File, old)
	text := read(t, PlanFile)

	before, after := extend(t, 2)
	if len(before.Runs) != 8 || len(after.Runs) != 16 {
		t.Fatalf("%d runs became %d, want 8 and 16", len(before.Runs), len(after.Runs))
	}
	added, kept := strings.CutPrefix(read(t, File), old+"\r\n")
	if !kept {
		t.Fatalf("rows were changed:\n%s", read(t, File))
	}
	var want []string
	for _, r := range after.Draw.Runs[8:] {
		want = append(want, strings.Join([]string{strconv.Itoa(r.Run), strconv.Itoa(r.Block), strconv.Itoa(r.Position), "", r.Levels[0], r.Levels[1], "", "", "", "", "", "", ""}, ";"))
	}
	if diff := cmp.Diff(strings.Join(want, "\r\n"), added); diff != "" {
		t.Errorf("added rows (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(strings.Replace(text, "count = 2", "count = 4", 1), read(t, PlanFile)); diff != "" {
		t.Errorf("plan (-want +got):\n%s", diff)
	}
	if got := after.Runs[0]; got.Values[0] != "12.50" || got.Note != "warm; dry" || got.Status != OK {
		t.Errorf("run 1 is now %+v", got)
	}
}

// The extended campaign is as one that was planned so: nothing looks edited, and the record says what was drawn when.
// A later extension goes on from there with a seed of its own.
func TestExtendRecord(t *testing.T) {
	drawFor(t, strings.Replace(rolesPlan, `"none"`, `"linear"`, 1), table.Dialect{})
	extend(t, 1)
	_, after := extend(t, 3)
	if after.Changes != nil {
		t.Errorf("changes are reported: %q", after.Changes)
	}
	c, err := plan.Read(PlanFile)
	if err != nil {
		t.Fatal(err)
	}
	if c.Block.Count != 6 || after.Draw.Hash != c.Hash() {
		t.Errorf("the plan has %d blocks and hash %s, the record %s", c.Block.Count, c.Hash(), after.Draw.Hash)
	}
	var blocks []int
	for _, d := range after.Draw.Draws {
		blocks = append(blocks, d.Blocks)
	}
	if diff := cmp.Diff([]int{2, 1, 3}, blocks); diff != "" {
		t.Errorf("draws (-want +got):\n%s", diff)
	}
	if !after.Draw.Draws[0].Time.Equal(drawnAt) || !after.Draw.Draws[2].Time.Equal(extendedAt) {
		t.Errorf("draws %v", after.Draw.Draws)
	}
	e := after.Draw.Order.Extensions
	if len(e) != 2 || e[0].Seed != 42 || e[1].Seed != 43 {
		t.Errorf("extensions %+v, want seeds 42 and 43", e)
	}
	set, err := after.Draw.Order.Set()
	if err != nil {
		t.Fatal(err)
	}
	if err := set.Allows(after.Draw.Order.Blocks); err != nil {
		t.Error(err)
	}
}

// An edit of the plan before the extension is still reported after it.
func TestExtendKeepsEditsInSight(t *testing.T) {
	drawFor(t, rolesPlan, table.Dialect{})
	write(t, PlanFile, strings.Replace(read(t, PlanFile), `title = "Field weakening"`, `title = "Weakening"`, 1))
	_, after := extend(t, 1)
	if diff := cmp.Diff([]string{`title was "Field weakening" and is "Weakening"`}, after.Changes); diff != "" {
		t.Errorf("changes (-want +got):\n%s", diff)
	}
}

// Whole plots and roles are numbered on, and blocks of every kind can be added.
func TestExtendKinds(t *testing.T) {
	for _, text := range []string{
		rolesPlan + "[order]\nwarmup = 1\nreference = [3]\n",
		strings.Replace(rolesPlan, "count = 2", "count = 3", 1) + "[order]\ncarry_over = true\n",
		strings.Replace(rolesPlan, `baseline = "A"`, `hard_to_change = true`, 1),
		strings.Replace(rolesPlan, "count = 2\nreplicates = 1", "count = 4\nruns = 3", 1),
		strings.NewReplacer(`"none"`, `"position"`, "count = 2", "count = 4").Replace(rolesPlan),
		"interactions = false\n" + rolesPlan,
	} {
		drawFor(t, text, table.Dialect{})
		old := read(t, File)
		before, after := extend(t, 2)
		if !strings.HasPrefix(read(t, File), old) {
			t.Errorf("rows were changed in\n%s", text)
		}
		if diff := cmp.Diff(before.Draw.Runs, after.Draw.Runs[:len(before.Draw.Runs)]); diff != "" {
			t.Errorf("runs that were drawn (-before +after):\n%s", diff)
		}
		last, next := after.Runs[len(before.Runs)-1], after.Runs[len(before.Runs)]
		if next.Block != last.Block+1 || next.Position != 1 || last.WholePlot > 0 && next.WholePlot != last.WholePlot+1 {
			t.Errorf("run %+v follows %+v", next, last)
		}
	}
}

func TestExtendRefuses(t *testing.T) {
	drawFor(t, rolesPlan, table.Dialect{})
	sheet, text, draw := read(t, File), read(t, PlanFile), read(t, DrawFile)
	unchanged := func(name string) {
		t.Helper()
		if read(t, PlanFile) != text || read(t, DrawFile) != draw {
			t.Errorf("%s: plan or record was changed", name)
		}
	}
	_, _, err := Extend(".", 9000, extendedAt)
	if want := "draw.json: with 9000 more packs there would be more than 10000 runs, the most of a plan"; message(err) != want {
		t.Errorf("error %v, want %s", err, want)
	}
	unchanged("too many")
	_, _, err = Extend(".", 0, extendedAt)
	if err == nil {
		t.Error("no blocks were added")
	}
	write(t, File, strings.Replace(sheet, "1,1,1", "1,1,2", 1))
	_, _, err = Extend(".", 1, extendedAt)
	if err == nil || !strings.Contains(err.Error(), "run 1 was drawn with 1") {
		t.Errorf("a faulty sheet: %v", err)
	}
	unchanged("faulty sheet")
	write(t, File, sheet)
}
