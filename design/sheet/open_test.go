package sheet

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/table"

	"github.com/google/go-cmp/cmp"
)

// filledSheet is the test campaign half done: its rows sorted by the person, with
// columns of their own at both ends.
const filledSheet = `who,run,block,position,weakening,prop,start_volts,start_temp,spin_up,pull,status,log,done_at,note,water
me,3,1,3,0,B,24.9,,305,,OK,,2026-05-09T09:50:00+02:00,,12
me,1,1,1,0,A,25.2,18,312.50,21.4,ok,logs/1.csv,2026-05-09T09:30:00+02:00,,12
me,2,1,2,2.5,B,25.1,,,,Failed,,2026-05-09T09:40:00+02:00,would not start,12
you,4,1,4,2.5,A,24.8,,400,,void,,2026-05-09T10:00:00+02:00,hit the weed,12
you,5,2,1,2.5,A,25.2,,290,,,,,,12
you,6,2,2,0,B,,,,,,logs/6.csv,,,
you,7,2,3,2.5,B,,,,,,,,,
you,8,2,4,0,A,,,,,,,,,
`

func TestOpen(t *testing.T) {
	at := func(minute int) time.Time { return time.Date(2026, 5, 9, 9, minute, 0, 0, bench) }
	want := []Run{
		{Run: 1, Block: 1, Position: 1, Treatment: 0, Levels: []string{"0", "A"}, Readings: []string{"25.2", "18"}, Values: []string{"312.50", "21.4"}, Status: OK, Log: "logs/1.csv", DoneAt: at(30), Row: 3},
		{Run: 2, Block: 1, Position: 2, Treatment: 3, Levels: []string{"2.5", "B"}, Readings: []string{"25.1", ""}, Values: []string{"", ""}, Status: Failed, DoneAt: at(40), Note: "would not start", Row: 4},
		{Run: 3, Block: 1, Position: 3, Treatment: 1, Levels: []string{"0", "B"}, Readings: []string{"24.9", ""}, Values: []string{"305", ""}, Status: OK, DoneAt: at(50), Row: 2},
		{Run: 4, Block: 1, Position: 4, Treatment: 2, Levels: []string{"2.5", "A"}, Readings: []string{"24.8", ""}, Values: []string{"400", ""}, Status: Void, DoneAt: at(60), Note: "hit the weed", Row: 5},
		{Run: 5, Block: 2, Position: 1, Treatment: 2, Levels: []string{"2.5", "A"}, Readings: []string{"25.2", ""}, Values: []string{"290", ""}, Status: OK, Row: 6},
		{Run: 6, Block: 2, Position: 2, Treatment: 1, Levels: []string{"0", "B"}, Readings: []string{"", ""}, Values: []string{"", ""}, Log: "logs/6.csv", Row: 7},
		{Run: 7, Block: 2, Position: 3, Treatment: 3, Levels: []string{"2.5", "B"}, Readings: []string{"", ""}, Values: []string{"", ""}, Row: 8},
		{Run: 8, Block: 2, Position: 4, Treatment: 0, Levels: []string{"0", "A"}, Readings: []string{"", ""}, Values: []string{"", ""}, Row: 9},
	}
	sheets := []struct{ name, text string }{
		{"as written", filledSheet},
		{"with semicolons and decimal commas", "\uFEFF" + strings.NewReplacer(",", ";", ".50", ",50", "2.5", "2,5", "25.", "25,", "24.", "24,", "21.4", "21,4", "\n", "\r\n").Replace(filledSheet)},
		{"whole numbers with a point", strings.NewReplacer("me,3,1,3", "me,3.0,1.0,3.0", "me,1,1,1,0,", "me,1,1,1,0.0,").Replace(filledSheet)},
		{"cells left out at the ends of rows", strings.NewReplacer("B,,,,,,,,,\n", "B\n", ",,,12\n", ",,,12\n").Replace(filledSheet)},
		{"capitals changed", strings.ReplaceAll(filledSheet, ",B,", ",b,")},
	}
	for _, tt := range sheets {
		t.Run(tt.name, func(t *testing.T) {
			drawnCampaign(t)
			write(t, File, tt.text)
			s, err := Open(".")
			if err != nil {
				t.Fatal(err)
			}
			equalTimes := cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) })
			if diff := cmp.Diff(want, s.Runs, equalTimes); diff != "" {
				t.Errorf("runs (-want +got):\n%s", diff)
			}
			if next := s.Next(); next == nil || next.Run != 7 {
				t.Errorf("the next run is %+v, want run 7: run 6 has a log", next)
			}
			if string(s.doc.Bytes()) != tt.text {
				t.Error("a byte of the sheet was lost")
			}
		})
	}
}

func TestOpenWarnings(t *testing.T) {
	drawnCampaign(t)
	text := strings.NewReplacer(
		"24.9,,305", "23.9,,305",
		"hit the weed", "",
		"2026-05-09T09:40:00+02:00", "twenty to ten",
		"you,8,2,4,0,A,,,,,", "you,8,2,4,0,A,,,,,ok",
	).Replace(filledSheet)
	write(t, File, text)
	s, err := Open(".")
	if err != nil {
		t.Fatal(err)
	}
	want := `runsheet.csv: row 2, column 7 "start_volts": 23.9 V is below the limit of 24 V; see whether the run counts; if it was spoiled, make it void
runsheet.csv: row 2, column 10 "pull": run 3 is ok but has no pull; enter it, or leave it empty if it was not measured
runsheet.csv: row 4, column 13 "done_at": "twenty to ten" is not a time that can be read, so it does not count; write it as 2026-05-09T14:30:00+02:00
runsheet.csv: row 5, column 14 "note": run 4 is void without a reason; say in the note what spoiled it
runsheet.csv: row 6, column 10 "pull": run 5 is ok but has no pull; enter it, or leave it empty if it was not measured
runsheet.csv: row 9, column 11 "status": run 8 is ok but has no response; enter what was measured, or make it failed or void`
	if diff := cmp.Diff(want, s.Warnings.Error()); diff != "" {
		t.Errorf("warnings (-want +got):\n%s", diff)
	}
}

// Before a run that is out of its limits there is something to do first; afterwards it counts or not.
func TestOpenOutOfLimitsBeforeTheRun(t *testing.T) {
	drawnCampaign(t)
	const todo = "you,7,2,3,2.5,B,,,,"
	for _, c := range []struct{ entered, want string }{
		{"you,7,2,3,2.5,B,23,,,", "see whether the pack is spent; if it is, take another and say so in the note; then note it again, with --replace"},
		{"you,7,2,3,2.5,B,23,,280,", "see whether the run counts; if it was spoiled, make it void"},
	} {
		write(t, File, strings.Replace(filledSheet, todo, c.entered, 1))
		s, err := Open(".")
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Warnings.Error(); !strings.Contains(got, "23 V is below the limit of 24 V; ") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %s, want %s", c.entered, got, c.want)
		}
	}
}

func TestOpenFaults(t *testing.T) {
	tests := []struct{ name, old, new, want string }{
		{"column renamed", ",spin_up,", ",spinup,", `runsheet.csv: there is no column "spin_up"; give column 9, now "spinup", that heading`},
		{"column gone", ",log,", ",logbook of the day,", `runsheet.csv: there is no column "log"; add it, anywhere: the heading and a cell in each row, empty where there is nothing to enter`},
		{"unknown status", ",void,", ",spoilt,", `runsheet.csv: row 5, column 11 "status": "spoilt" is no status; write "ok", "failed" or "void", or leave the cell empty while the run is to do`},
		{"run twice", "you,4,1,4,2.5,A", "you,3,1,4,2.5,A", `runsheet.csv: run 4 has no row; restore it: run 4, block 1, position 4, weakening 2.5, prop A
runsheet.csv: row 5, column 2 "run": run 3 stands in row 2 too; keep one row for each run, and move further results of your own to another file`},
		{"run not a number", "you,4,1,4", "you,four,1,4", `runsheet.csv: run 4 has no row; restore it: run 4, block 1, position 4, weakening 2.5, prop A
runsheet.csv: row 5, column 2 "run": "four" is not a run number; restore the number, or take the row out`},
		{"run not whole", "you,4,1,4", "you,4.5,1,4", `runsheet.csv: run 4 has no row; restore it: run 4, block 1, position 4, weakening 2.5, prop A
runsheet.csv: row 5, column 2 "run": "4.5" is not a run number; restore the number, or take the row out`},
		{"run without a number", "you,8,2,4,0,A,,,,,,,,,\n", "you,8,2,4,0,A,,,,,,,,,\nmean,,,,,,,,none,,,,,,\n", `runsheet.csv: row 10, column 2 "run": the row has no run number; restore the number, or take the row out`},
		{"unknown run", "you,8,2,4,0,A,,,,,,,,,\n", "you,8,2,4,0,A,,,,,,,,,\nyou,9,2,5,0,A,,,,,,,,,\n", `runsheet.csv: row 10, column 2 "run": run 9 was never drawn; the runs are 1 to 8: restore the number, or take the row out`},
		{"row gone", "me,2,1,2,2.5,B,25.1,,,,Failed,,2026-05-09T09:40:00+02:00,would not start,12\n", "", `runsheet.csv: run 2 has no row; restore it: run 2, block 1, position 2, weakening 2.5, prop B`},
		{"block edited", "you,8,2,4", "you,8,1,4", `runsheet.csv: row 9, column 3 "block": run 8 was drawn with 2, the cell has "1"; put 2 back`},
		{"position edited", "you,8,2,4", "you,8,2,", `runsheet.csv: row 9, column 4 "position": run 8 was drawn with 4, the cell has ""; put 4 back`},
		{"level edited", "you,8,2,4,0,A", "you,8,2,4,2.5,A", `runsheet.csv: row 9, column 5 "weakening": run 8 was drawn with "0", the cell has "2.5"; put "0" back; if the run was truly made with "2.5", put "0" back all the same, set the status to void and say so in the note`},
		{"no level of the plan", "you,8,2,4,0,A", "you,8,2,4,3,A", `runsheet.csv: row 9, column 5 "weakening": run 8 was drawn with "0", the cell has "3", which is no level of the plan; put "0" back`},
		{"text for a number", "312.50", "fast", `runsheet.csv: row 3, column 9 "spin_up": "fast" is not a number; write a number, or leave the cell empty if there is none`},
		{"text for a check", "25.2,18", "25.2,warm", `runsheet.csv: row 3, column 8 "start_temp": "warm" is not a number; write a number, or leave the cell empty if there is none`},
		{"a unit", "312.50", "312.50 ms", `runsheet.csv: row 3, column 9 "spin_up": "312.50 ms" is not a number; write the number alone: a unit belongs in the plan or the heading`},
		{"failed with a value", "25.1,,,,Failed", "25.1,,350,,Failed", `runsheet.csv: row 4, column 9 "spin_up": run 2 failed, yet spin_up is 350; empty the cell, or make the status ok: a failed run has no responses`},
		{"not UTF-8", "would not start", "20 \xB0C", `runsheet.csv: row 4, column 14 "note": byte 0xB0, number 300 of the file, is not UTF-8 text; save the file as "CSV UTF-8" or, in an editor, with encoding UTF-8`},
		{"everything", filledSheet, "", "runsheet.csv: the file is empty; its first row must hold the headings of the columns"},
		{"all at once", filledSheet, strings.NewReplacer(",spin_up,", ",spinup,", "you,8,2,4,0,A", "you,8,1,3,2.5,C", ",void,", ",spoilt,").Replace(filledSheet), `runsheet.csv: there is no column "spin_up"; give column 9, now "spinup", that heading
runsheet.csv: row 5, column 11 "status": "spoilt" is no status; write "ok", "failed" or "void", or leave the cell empty while the run is to do
runsheet.csv: row 9, column 3 "block": run 8 was drawn with 2, the cell has "1"; put 2 back
runsheet.csv: row 9, column 4 "position": run 8 was drawn with 4, the cell has "3"; put 4 back
runsheet.csv: row 9, column 5 "weakening": run 8 was drawn with "0", the cell has "2.5"; put "0" back; if the run was truly made with "2.5", put "0" back all the same, set the status to void and say so in the note
runsheet.csv: row 9, column 6 "prop": run 8 was drawn with "A", the cell has "C", which is no level of the plan; put "A" back`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			drawnCampaign(t)
			write(t, File, filledSheet)
			edit(t, File, tt.old, tt.new)
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

func TestOpenWithoutFiles(t *testing.T) {
	t.Run("nothing drawn", func(t *testing.T) {
		campaign(t)
		_, err := Open(".")
		if !errors.Is(err, ErrNotDrawn) {
			t.Errorf("error %v, want one that wraps ErrNotDrawn", err)
		}
	})
	t.Run("no draw record", func(t *testing.T) {
		drawnCampaign(t)
		err := os.Remove(DrawFile)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Open(".")
		want := "draw.json: the record of the draw is missing; restore it from a backup or version control; it cannot be made again from the sheet"
		if err == nil || err.Error() != want {
			t.Errorf("error %v, want %s", err, want)
		}
	})
	t.Run("a sheet beyond all measure", func(t *testing.T) {
		drawnCampaign(t)
		err := os.Truncate(File, 200<<20)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Open(".")
		want := "runsheet.csv: the file is too large: 200 MiB, at most 16 MiB are read; check that this is the right file"
		if err == nil || err.Error() != want {
			t.Errorf("error %v, want %s", err, want)
		}
	})
	t.Run("plan, draw and sheet all spoilt", func(t *testing.T) {
		drawnCampaign(t)
		write(t, PlanFile, "title = ")
		write(t, DrawFile, "{")
		write(t, File, "")
		_, err := Open(".")
		if err == nil {
			t.Fatal("no error")
		}
		for _, name := range []string{PlanFile, DrawFile, File} {
			if !strings.Contains(err.Error(), name) {
				t.Errorf("%s is not in the error:\n%v", name, err)
			}
		}
		var f *fault.Fault
		if !errors.As(err, &f) || len(fault.In(err)) == 0 {
			t.Errorf("the faults cannot be distinguished in %v", err)
		}
	})
}

func TestOpenTellsChangesOfThePlan(t *testing.T) {
	drawnCampaign(t)
	edit(t, PlanFile, `"2%"`, `"3%"`)
	s, err := Open(".")
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(s.Changes, func(c string) bool { return strings.Contains(c, "margin") }) {
		t.Errorf("changes %q do not name the margin", s.Changes)
	}
}

func TestOpenRefusesAnotherPlan(t *testing.T) {
	const asBefore = "; put factors and levels back as they were drawn, or begin a new campaign in another folder"
	tests := []struct{ name, old, new, want string }{
		{"a level", "[0, 2.5]", "[0, 3]", `campaign.toml: the treatment "2.5 B", drawn for run 2, is no longer in the plan` + asBefore + `
campaign.toml: the treatment "2.5 A", drawn for run 4, is no longer in the plan` + asBefore},
		{"a factor", `name = "prop"`, `name = "propeller"`, `campaign.toml: the factors are "weakening", "propeller", those of the sheet "weakening", "prop"` + asBefore},
		{"a response", `name = "pull"`, `name = "thrust"`, `runsheet.csv: there is no column "thrust"; add it, anywhere: the heading and a cell in each row, empty where there is nothing to enter`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			drawnCampaign(t)
			edit(t, PlanFile, tt.old, tt.new)
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

func TestMatchLevel(t *testing.T) {
	comma, semicolon := table.Dialect{}, table.Dialect{Separator: ';'}
	tests := []struct {
		levels  []string
		dialect table.Dialect
		text    string
		want    int
	}{
		{[]string{"0", "0.50"}, comma, "0.50", 1},
		{[]string{"0", "0.50"}, comma, "0.5", 1},
		{[]string{"0", "0.50"}, comma, "0,5", -1},
		{[]string{"0", "0.50"}, semicolon, "0,5", 1},
		{[]string{"007", "B"}, comma, "7", 0},
		{[]string{"007", "7.0"}, comma, "7", -1},
		{[]string{"007", "7"}, comma, "7", 1},
		{[]string{"true", "false"}, comma, "TRUE", 0},
		{[]string{"a", "A"}, comma, "A", 1},
		{[]string{"ab", "aB"}, comma, "AB", -1},
		{[]string{"0", "4"}, comma, "", -1},
	}
	for _, tt := range tests {
		got := matchLevel(&design.Factor{Levels: tt.levels}, tt.dialect, tt.text)
		if got != tt.want {
			t.Errorf("matchLevel(%q, %q) = %d, want %d", tt.levels, tt.text, got, tt.want)
		}
	}
}

// Whatever is in the sheet, Open answers in words and Record keeps every cell that it
// was not given.
func FuzzOpen(f *testing.F) {
	f.Add([]byte(filledSheet))
	f.Add([]byte(writtenSheet))
	f.Add([]byte(strings.ReplaceAll(writtenSheet, ",", ";")))
	c := testPlan(f)
	draw := newDraw(c, drawn(), drawnAt)
	f.Fuzz(func(t *testing.T, data []byte) {
		doc, err := table.Parse(File, data)
		if err != nil {
			return
		}
		s := &Sheet{Campaign: c, Draw: draw}
		faults := s.match(PlanFile, doc)
		if (len(faults) > 0) != (faults.Error() != "") {
			t.Fatalf("faults %v without words", []fault.Fault(faults))
		}
		e, err := newEntry(s, faults, 1)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("refused without words")
			}
			return
		}
		var want []string
		for row := range doc.Rows() {
			for col := range doc.Header {
				if row != e.index || col != s.columns.note {
					want = append(want, doc.Cell(row, col))
				}
			}
		}
		e.replace = true
		e.assign([]Assignment{{"note", "cold; \"windy\", wet"}})
		again, err := table.Parse(File, e.doc.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for row := range again.Rows() {
			for col := range again.Header {
				if row != e.index || col != s.columns.note {
					got = append(got, again.Cell(row, col))
				}
			}
		}
		if !slices.Equal(want, got) {
			t.Fatalf("cells %q became %q", want, got)
		}
	})
}
