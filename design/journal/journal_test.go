package journal

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var noon = time.Date(2026, 5, 9, 12, 0, 0, 5, time.UTC)

func entry(run int, column, old, new string) Entry {
	return Entry{Schema: Schema, Time: noon, By: Record, Run: run, Cells: []Cell{{column, old, new}}}
}

func TestParse(t *testing.T) {
	want := []Entry{entry(1, "spin_up", "", "612.5"), entry(2, "note", "", `"} <&> ü`), entry(1, "spin_up", "612.5", "611")}
	text := Lines(want)
	lines := bytes.SplitAfter(text, []byte("\n"))
	for name, data := range map[string][]byte{
		"whole":             text,
		"torn at the end":   append(bytes.Clone(text), lines[0][:20]...),
		"Windows line ends": bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n")),
		"merged": []byte("<<<<<<< ours\n" + string(lines[0]) + "=======\n" + string(lines[0]) + string(lines[1]) + ">>>>>>> theirs\n" +
			string(lines[2])),
		"damaged": append([]byte(strings.Replace(string(lines[0]), "612.5", "912.5", 1)), text...),
	} {
		j, err := Parse("journal.jsonl", data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if diff := cmp.Diff(want, j.Entries); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
		if got, known := j.Holds(Place{1, "spin_up"}); got != "611" || !known {
			t.Errorf("%s: the cell holds %q", name, got)
		}
		for text, held := range map[string]bool{"": true, "612.5": true, "611": false} {
			if j.Held(Place{1, "spin_up"}, func(s string) bool { return s == text }) != held {
				t.Errorf("%s: the cell held %q: want %v", name, text, held)
			}
		}
	}
}

func TestParseNewer(t *testing.T) {
	line := entry(1, "spin_up", "", "1").Line()
	text := bytes.Replace(line[:len(line)-len(sumKey)-sumDigits-3], []byte(Schema), []byte("fairrun.journal/9"), 1)
	_, err := Parse("journal.jsonl", append(text, sumKey+sum(text)+"\"}\n"...))
	if !errors.Is(err, ErrNewer) {
		t.Errorf("error %v", err)
	}
}

// What is read and written again is the same, and no bytes break the reader.
func FuzzParse(f *testing.F) {
	f.Add(Lines([]Entry{entry(1, "spin_up", "", "612.5"), {Time: noon, By: Draw, Seed: 41, Plan: []byte(`{"a":1}`)}}))
	f.Add([]byte(`{"schema":"fairrun.journal/2","sum":"0123456789abcdef"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		j, err := Parse("j", data)
		if err != nil {
			return
		}
		again, err := Parse("j", Lines(j.Entries))
		if err != nil || len(again.Damaged) > 0 {
			t.Errorf("%v, damaged %v", err, again.Damaged)
		}
	})
}
