package sheet

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/table"
)

const sharesPlan = `title = "Field weakening"
scope = "pod thruster no. 3"
seed = 41
[[factor]]
name = "weakening"
levels = [0, 4]
[block]
name = "charge"
count = 5
replicates = 1
[session]
name = "day"
blocks = 2
[items]
name = "pack"
labels = ["1", "2b"]
[specimens]
name = "motor"
count = 3
[drift]
model = "none"
[[response]]
name = "pull"
better = "higher"
`

// Two charges a day on two packs that change places each day, shared out over three motors: worked out by hand.
func TestSheetOfSessionsItemsAndUnits(t *testing.T) {
	c := writeOrder(t, sharesPlan, &order.Drawn{Blocks: [][]int{{0, 1}, {1, 0}, {0, 1}, {1, 0}, {0, 1}}})
	want := `run,block,position,day,pack,motor,weakening,start_volts,start_temp,pull,status,log,done_at,note
1,1,1,1,1,1,0,,,,,,,
2,1,2,1,1,1,4,,,,,,,
3,2,1,1,2b,2,4,,,,,,,
4,2,2,1,2b,2,0,,,,,,,
5,3,1,2,2b,3,0,,,,,,,
6,3,2,2,2b,3,4,,,,,,,
7,4,1,2,1,1,4,,,,,,,
8,4,2,2,1,1,0,,,,,,,
9,5,1,3,1,2,0,,,,,,,
10,5,2,3,1,2,4,,,,,,,
`
	sheet := read(t, File)
	if diff := cmp.Diff(want, sheet); diff != "" {
		t.Errorf("sheet (-want +got):\n%s", diff)
	}
	s, err := Open(".")
	if err != nil {
		t.Fatal(err)
	}
	days, ok := s.Sessions()
	if diff := cmp.Diff([]int32{0, 0, 0, 0, 1, 1, 1, 1, 2, 2}, days.Code); diff != "" || !ok || days.Name != "day" {
		t.Errorf("days %+v, %v (-want +got):\n%s", days, ok, diff)
	}
	packs, ok := s.Items()
	if diff := cmp.Diff([]int32{0, 0, 1, 1, 1, 1, 0, 0, 0, 0}, packs.Code); diff != "" || !ok || packs.Name != "pack" || !cmp.Equal(packs.Levels, []string{"1", "2b"}) {
		t.Errorf("packs %+v, %v (-want +got):\n%s", packs, ok, diff)
	}

	// A spreadsheet program may write the label 1 as 1.0 and 2b as 2B.
	write(t, File, strings.NewReplacer("1,1,1,1,1,1,0", "1,1,1,1,1.0,1,0", "2b", "2B").Replace(sheet))
	if _, err := Open("."); err != nil {
		t.Error(err)
	}
	for _, e := range []struct{ was, is, want string }{
		{"\n5,3,1,2,2b,3,", "\n5,3,1,1,2b,3,", `runsheet.csv: row 6, column 4 "day": run 5 was drawn with 2, the cell has "1"; put 2 back`},
		{"\n5,3,1,2,2b,3,", "\n5,3,1,2,1,3,", `runsheet.csv: row 6, column 5 "pack": run 5 was drawn with "2b", the cell has "1"; put "2b" back; if the run was truly made on another pack, say so in the note`},
		{"\n5,3,1,2,2b,3,0,,,,,,,", "", `runsheet.csv: run 5 has no row; restore it: run 5, block 3, position 1, day 2, pack 2b, motor 3, weakening 0`},
		{"day,pack", "days,pack", `runsheet.csv: there is no column "day"; give column 4, now "days", that heading`},
	} {
		write(t, File, strings.Replace(sheet, e.was, e.is, 1))
		_, err := Open(".")
		if diff := cmp.Diff(e.want, message(err)); diff != "" {
			t.Errorf("%q for %q (-want +got):\n%s", e.is, e.was, diff)
		}
	}
	write(t, File, sheet)

	// They are planned columns: a sheet with nothing else entered is drawn over, even by a plan that calls them otherwise.
	renamed, err := plan.Parse(PlanFile, []byte(strings.NewReplacer(`"day"`, `"trip"`, `"pack"`, `"cell"`).Replace(sharesPlan)))
	if err != nil {
		t.Fatal(err)
	}
	for _, plan := range []*design.Plan{renamed, c} {
		d, err := NewOrder(plan, 41)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Write(".", plan, d, drawnAt, table.Dialect{}); err != nil {
			t.Error(err)
		}
	}
}

// Sessions that are blocks, or only one, and items that are used once, are no factors of their own.
func TestSessionsThatAreNoFactor(t *testing.T) {
	for _, change := range []struct {
		was, is         string
		sessions, items bool
	}{
		{"blocks = 2", "blocks = 1", false, true},
		{"blocks = 2", "blocks = 5", false, true},
		{"blocks = 2", "blocks = 4", true, true},
		{`["1", "2b"]`, `["1", "2", "3", "4", "5"]`, true, false},
		{"[session]\nname = \"day\"\nblocks = 2\n", "", false, true},
	} {
		writeOrder(t, strings.Replace(sharesPlan, change.was, change.is, 1), &order.Drawn{Blocks: [][]int{{0, 1}, {1, 0}, {0, 1}, {1, 0}, {0, 1}}})
		s, err := Open(".")
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := s.Sessions(); ok != change.sessions {
			t.Errorf("%s: sessions are a factor: %v", change.is, ok)
		}
		if _, ok := s.Items(); ok != change.items {
			t.Errorf("%s: items are a factor: %v", change.is, ok)
		}
	}
}

// Sessions shape the order of incomplete blocks only: complete ones are drawn as without.
func TestSessionsInTheOrderPlan(t *testing.T) {
	incomplete := strings.NewReplacer("levels = [0, 4]", "levels = [0, 4, 8, 12]", "count = 5\nreplicates = 1", "count = 6\nruns = 2").Replace(sharesPlan)
	for _, c := range []struct {
		plan string
		want int
	}{{incomplete, 2}, {strings.Replace(incomplete, "blocks = 2", "blocks = 1", 1), 0}, {sharesPlan, 0}} {
		plan, err := plan.Parse(PlanFile, []byte(c.plan))
		if err != nil {
			t.Fatal(err)
		}
		if got := OrderPlan(plan).Session; got != c.want {
			t.Errorf("sessions of %d blocks in the order, want %d", got, c.want)
		}
	}
}
