package sheet

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairrun/design/journal"
	"fairrun/design/plan"
	"fairrun/design/table"
)

// scripted are the plans in the scripts of the command, which are of every kind.
func scripted(t testing.TB) map[string]string {
	t.Helper()
	files, err := filepath.Glob("../../cmd/fairrun/testdata/script/*.txt")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d scripts, %v", len(files), err)
	}
	plans := map[string]string{}
	for _, f := range files {
		for i, part := range strings.Split(read(t, f), "\n-- ")[1:] {
			name, text, _ := strings.Cut(part, " --\n")
			if strings.HasSuffix(name, ".toml") {
				plans[fmt.Sprint(filepath.Base(f), " ", i, " ", name)] = text + "\n"
			}
		}
	}
	return plans
}

// Every kind of plan is drawn again as it was, from its record alone, also after it was extended.
func TestDrawnAgain(t *testing.T) {
	drawn, extended, folds := 0, 0, 0
	for name, text := range scripted(t) {
		c, err := plan.Parse(name, []byte(text))
		if err != nil || c.Runs() > 200 {
			continue
		}
		o, err := NewOrder(c, 41)
		if err != nil {
			continue
		}
		d, err := parseDraw(newDraw(c, o, drawnAt).encode())
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		drawn++
		if err := d.compareAgain(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if folded, err := d.foldedOver(c, "all", 0, extendedAt); err == nil {
			further, err := folded.extended(c, 1, extendedAt)
			if err == nil {
				folds++
				if d, err := parseDraw(further.encode()); err != nil || d.compareAgain() != nil {
					t.Errorf("%s, folded over: %v, %v", name, err, d.compareAgain())
				}
			}
		}
		longer, err := d.extended(c, 1, extendedAt)
		if err != nil {
			continue
		}
		extended++
		if d, err = parseDraw(longer.encode()); err == nil {
			err = d.compareAgain()
		}
		if err != nil {
			t.Errorf("%s, extended: %v", name, err)
		}
	}
	if drawn < 15 || extended < 10 || folds < 1 {
		t.Errorf("only %d plans were drawn, %d extended and %d folded over", drawn, extended, folds)
	}
}

// A record that was edited so that it fits itself is no draw of its seed, and is refused in words.
func TestEditedRecordsAreRefused(t *testing.T) {
	c := campaign(t)
	o, err := NewOrder(c, 41)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Write(".", c, o, drawnAt, table.Dialect{}); err != nil {
		t.Fatal(err)
	}
	good, kept := read(t, DrawFile), read(t, journal.File)
	open := func(name string, edit func(d *Draw)) error {
		d, err := parseDraw([]byte(good))
		if err != nil {
			t.Fatal(err)
		}
		whole := d.Order.Whole()
		edit(d)
		d.Runs = plannedRuns(c, whole, d.Order.Blocks)
		write(t, DrawFile, string(d.encode()))
		write(t, File, string(newSheet(File, table.Dialect{}, c, d).Bytes()))
		_, err = Open(".")
		return err
	}
	for _, tt := range []struct {
		name string
		edit func(d *Draw)
		want string
	}{
		{"blocks sorted", func(d *Draw) { d.Order.Blocks[0] = []int{0, 1, 2, 3}; d.Order.Blocks[1] = []int{0, 1, 2, 3} }, "the file was edited: its seed 41 draws"},
		{"treatments exchanged", func(d *Draw) {
			for _, b := range d.Order.Blocks {
				for i := range b {
					b[i] ^= 1
				}
			}
		}, "the file was edited: its seed 41 draws"},
		{"another seed", func(d *Draw) { d.Order.Seed = 42 }, "the file was edited: its seed 42 draws"},
		{"another version", func(d *Draw) { d.Order.Version = 7 }, "the file was drawn by version 7 of the generator, and this fairrun has version 1"},
		{"another threshold", func(d *Draw) { d.Order.Threshold = 99 }, `the file was edited: "threshold" in its order is not what its seed draws`},
		{"a seed beyond all", func(d *Draw) { d.Order.Seed = 1 << 63 }, "a seed that no plan can have"},
		{"negative blocks", func(d *Draw) { d.Order.Plan.Blocks = -5 }, `"plan" in its order is not what its seed draws`},
		{"negative treatments", func(d *Draw) { d.Order.Plan.Treatments = -5 }, "the file was edited: blocks of its order have 4 runs, those of its plan -5"},
	} {
		write(t, journal.File, kept)
		err := open(tt.name, tt.edit)
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want %q in it", tt.name, err, tt.want)
		}
	}
	// A record that is as drawn needs no journal.
	if err := os.Remove(journal.File); err != nil {
		t.Fatal(err)
	}
	if err := open("as drawn", func(*Draw) {}); err != nil {
		t.Error(err)
	}
}

// No record that stands beside a good sheet makes a command panic, whatever its numbers.
func FuzzOpenRecord(f *testing.F) {
	text := read(f, "testdata/campaign.toml")
	c := testPlan(f)
	o, err := NewOrder(c, 41)
	if err != nil {
		f.Fatal(err)
	}
	good := newDraw(c, o, drawnAt)
	f.Add([]byte(good.Plan), good.Order.Seed, 2, 4, -1, 0)
	f.Add([]byte(good.Plan), uint64(1), -2, -4, 1<<40, -7)
	f.Fuzz(func(t *testing.T, canonical []byte, seed uint64, blocks, replicates, warmup, reference int) {
		if !json.Valid(canonical) {
			return
		}
		t.Chdir(t.TempDir())
		d := *good
		d.Plan, d.Hash = canonical, recordHash(canonical)
		d.Order.Seed, d.Order.Plan.Blocks, d.Order.Plan.Replicates, d.Order.Plan.Warmup = seed, blocks, replicates, warmup
		d.Order.Plan.Reference = []int{reference}
		d.Draws = []Drawing{{drawnAt, blocks, ""}}
		write(t, PlanFile, text)
		write(t, File, string(newSheet(File, table.Dialect{}, c, good).Bytes()))
		write(t, DrawFile, string(d.encode()))
		if s, err := Open("."); err == nil && s == nil {
			t.Error("no sheet and no error")
		}
	})
}
