package sheet

import (
	"strings"
	"testing"
	"time"

	"fairrun/design/plan"
	"fairrun/design/store"

	"github.com/google/go-cmp/cmp"
)

func TestDrawRecord(t *testing.T) {
	c := drawnCampaign(t)
	d, err := readDraw(DrawFile, store.Read(".", maxBytes, DrawFile)[0])
	if err != nil {
		t.Fatal(err)
	}
	if d.Hash != c.Hash() {
		t.Errorf("hash %s, want %s", d.Hash, c.Hash())
	}
	if diff := cmp.Diff(string(c.Canonical()), string(d.Plan)); diff != "" {
		t.Errorf("plan (-want +got):\n%s", diff)
	}
	if len(d.Draws) != 1 || !d.Draws[0].Time.Equal(drawnAt) || d.Draws[0].Blocks != 2 {
		t.Errorf("draws %v, want one of 2 blocks at %v", d.Draws, drawnAt)
	}
	if diff := cmp.Diff(*drawn(), d.Order); diff != "" {
		t.Errorf("order (-want +got):\n%s", diff)
	}
	want := []Planned{
		{Run: 1, Block: 1, Position: 1, Levels: []string{"0", "A"}}, {Run: 2, Block: 1, Position: 2, Levels: []string{"2.5", "B"}}, {Run: 3, Block: 1, Position: 3, Levels: []string{"0", "B"}}, {Run: 4, Block: 1, Position: 4, Levels: []string{"2.5", "A"}},
		{Run: 5, Block: 2, Position: 1, Levels: []string{"2.5", "A"}}, {Run: 6, Block: 2, Position: 2, Levels: []string{"0", "B"}}, {Run: 7, Block: 2, Position: 3, Levels: []string{"2.5", "B"}}, {Run: 8, Block: 2, Position: 4, Levels: []string{"0", "A"}},
	}
	if diff := cmp.Diff(want, d.Runs); diff != "" {
		t.Errorf("runs (-want +got):\n%s", diff)
	}
	if line := "\n    {\"run\":5,\"block\":2,\"position\":1,\"levels\":[\"2.5\",\"A\"]},\n"; !strings.Contains(read(t, DrawFile), line) {
		t.Errorf("no line %q in\n%s", line, read(t, DrawFile))
	}
}

// The time of a draw keeps its offset and loses what is below a second.
func TestDrawTime(t *testing.T) {
	c := testPlan(t)
	d := newDraw(c, drawn(), drawnAt.Add(123*time.Millisecond))
	if !strings.Contains(string(d.encode()), `"time":"2026-05-09T09:00:00+02:00"`) {
		t.Errorf("no such time in\n%s", d.encode())
	}
}

func TestDrawRecordFaults(t *testing.T) {
	const restore = "; restore it from a backup or version control; it cannot be made again from the sheet"
	tests := []struct {
		name     string
		old, new string
		want     string
	}{
		{"later version", "fairrun.draw/2", "fairrun.draw/3",
			`draw.json: the file was written by another version of fairrun: its schema is "fairrun.draw/3", not "fairrun.draw/2"; update fairrun`},
		{"another file", "fairrun.draw/2", "something", `draw.json: the file is no draw record: its schema is "something", not "fairrun.draw/2"` + restore},
		{"cut off", "\n}\n", "", "draw.json: the file is damaged: unexpected end of JSON input" + restore},
		{"unknown key", `"hash"`, `"hush": 1, "hash"`, `draw.json: the file is damaged: json: unknown field "hush"` + restore},
		{"edited plan", `"scope":"pod`, `"scope":"Pod`, "draw.json: the file was edited: its hash is not that of the plan in it" + restore},
		{"edited run", `{"run":3,"block":1,"position":3,"levels":["0",`, `{"run":3,"block":1,"position":3,"levels":["2.5",`, "draw.json: the file was edited: run 3 is not as drawn" + restore},
		{"edited order", "[0,3,1,2]", "[0,3,1,1]", "draw.json: the file was edited: run 4 is not as drawn" + restore},
		{"impossible order", "[0,3,1,2]", "[0,3,1,4]", "draw.json: the file was edited: its order has a treatment number 4, its plan has treatments 0 to 3" + restore},
		{"edited draws", `+02:00","blocks":2`, `+02:00","blocks":3`, "draw.json: the file was edited: 3 blocks were drawn, its order has 2" + restore},
		{"edited plan of the order", `"order": {"version":1,"seed":41,"plan":{"treatments":0,"blocks":0}`, `"order": {"version":1,"seed":41,"plan":{"treatments":0,"blocks":0,"runs":2000000000}`,
			"draw.json: the file was edited: blocks of its order have 4 runs, those of its plan 2000000000" + restore},
		{"run taken out", `,"levels":["2.5","B"]},` + "\n    " + `{"run":8,"block":2,"position":4,"levels":["0","A"]}`, `,"levels":["2.5","B"]}`,
			"draw.json: the file was edited: 8 runs were drawn, it lists 7" + restore},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			drawnCampaign(t)
			edit(t, DrawFile, tt.old, tt.new)
			_, err := Open(".")
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("error (-want +got):\n%s", diff)
			}
		})
	}
}

// A plan that no reader would have taken is refused even when its hash fits.
func TestDrawRecordOfABrokenPlan(t *testing.T) {
	c := testPlan(t)
	c.Chosen = [][]string{{"0"}, {"2.5"}, {"0"}, {"2.5"}}
	_, err := parseDraw(newDraw(c, drawn(), drawnAt).encode())
	want := "the file was edited: a treatment of its plan has levels for 1 of 2 factors"
	if err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
}

func FuzzParseDraw(f *testing.F) {
	c := testPlan(f)
	f.Add(newDraw(c, drawn(), drawnAt).encode())
	screen, err := plan.Parse(PlanFile, []byte(screenPlan+"fold_over = \"all\"\nfold_over_blocks = [2]\n"))
	if err != nil {
		f.Fatal(err)
	}
	folded, err := NewOrder(screen, 41)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(newDraw(screen, folded, drawnAt).encode())
	f.Add([]byte(`{"schema":"fairrun.draw/2","hash":"","plan":{},"draws":[],"order":{},"runs":[]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := parseDraw(data)
		if err != nil {
			return
		}
		again, err := parseDraw(d.encode())
		if err != nil {
			t.Fatalf("%s: %v", d.encode(), err)
		}
		if diff := cmp.Diff(d, again); diff != "" {
			t.Fatalf("read again (-want +got):\n%s", diff)
		}
	})
}
