package sheet

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"fairrun/design/fault"
	"fairrun/design/table"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// recordedAt is what the clock shows in the tests of Record.
var recordedAt = time.Date(2026, 5, 9, 14, 30, 0, 0, bench)

// values makes assignments of "name=value".
func values(pairs ...string) []Assignment {
	set := make([]Assignment, len(pairs))
	for i, pair := range pairs {
		set[i].Name, set[i].Value, _ = strings.Cut(pair, "=")
	}
	return set
}

func TestRecord(t *testing.T) {
	tests := []struct {
		name    string
		run     int
		set     []Assignment
		replace bool
		old     string // how the run's row of filledSheet starts
		want    string // the row, "" for no change
	}{
		{"a response", 7, values("spin_up=299.5"), false,
			"you,7,", "you,7,2,3,2.5,B,,,299.5,,ok,,2026-05-09T14:30:00+02:00,,"},
		{"checks before the run", 7, values("start_volts=25.0", "start_temp=19"), false,
			"you,7,", "you,7,2,3,2.5,B,25.0,19,,,,,,,"},
		{"a failure", 8, values("status=failed", "note=no start, twice"), false,
			"you,8,", `you,8,2,4,0,A,,,,,failed,,2026-05-09T14:30:00+02:00,"no start, twice",`},
		{"a log", 8, values("log=logs/8.csv"), false,
			"you,8,", "you,8,2,4,0,A,,,,,,logs/8.csv,2026-05-09T14:30:00+02:00,,"},
		{"a status and a time of its own", 8, values("spin_up=300", "status=VOID", "done_at=2026-05-09T12:00:00Z", "note=x"), false,
			"you,8,", "you,8,2,4,0,A,,,300,,void,,2026-05-09T12:00:00Z,x,"},
		{"a column of the person's own", 8, values("water=11"), false,
			"you,8,", "you,8,2,4,0,A,,,,,,,,,11"},
		{"a second response keeps status and time", 3, values("pull=20.9"), false,
			"me,3,", "me,3,1,3,0,B,24.9,,305,20.9,OK,,2026-05-09T09:50:00+02:00,,12"},
		{"the same again", 1, values("spin_up=312.5", "status=ok", "start_temp=18.0", "done_at=2026-05-09T07:30:00Z"), false,
			"me,1,", ""},
		{"the same again completes what a person typed", 5, values("spin_up=290"), false,
			"you,5,", "you,5,2,1,2.5,A,25.2,,290,,ok,,2026-05-09T14:30:00+02:00,,12"},
		{"another value with replace keeps the time", 1, values("spin_up=311"), true,
			"me,1,", "me,1,1,1,0,A,25.2,18,311,21.4,ok,logs/1.csv,2026-05-09T09:30:00+02:00,,12"},
		{"a void run made again", 4, values("spin_up=301", "note="), true,
			"you,4,", "you,4,1,4,2.5,A,24.8,,301,,ok,,2026-05-09T14:30:00+02:00,,12"},
		{"a failure that was none", 2, values("spin_up=320", "status=ok"), true,
			"me,2,", "me,2,1,2,2.5,B,25.1,,320,,ok,,2026-05-09T09:40:00+02:00,would not start,12"},
		{"a value taken back", 5, values("spin_up="), true,
			"you,5,", "you,5,2,1,2.5,A,25.2,,,,,,,,12"},
		{"one of two responses taken back", 1, values("pull="), true,
			"me,1,", "me,1,1,1,0,A,25.2,18,312.50,,ok,logs/1.csv,2026-05-09T09:30:00+02:00,,12"},
		{"the last response taken back, with status and time", 3, values("Spin-Up="), true,
			"me,3,", "me,3,1,3,0,B,24.9,,,,,,,,12"},
		{"all responses taken back, a log left", 1, values("spin_up=", "pull="), true,
			"me,1,", "me,1,1,1,0,A,25.2,18,,,ok,logs/1.csv,2026-05-09T09:30:00+02:00,,12"},
		{"a failure taken back", 2, values("status=", "note="), true,
			"me,2,", "me,2,1,2,2.5,B,25.1,,,,,,,,12"},
		{"a void run that was not spoiled keeps its time", 4, values("status=ok"), true,
			"you,4,", "you,4,1,4,2.5,A,24.8,,400,,ok,,2026-05-09T10:00:00+02:00,hit the weed,12"},
		{"other capitals and signs, units and a decimal comma", 7, values("Start Volts=25,5 V", "SPIN-UP=299.5ms", "Pull=+20,5", "Status=OK"), false,
			"you,7,", "you,7,2,3,2.5,B,25.5,,299.5,+20.5,ok,,2026-05-09T14:30:00+02:00,,"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			drawnCampaign(t)
			write(t, File, filledSheet)
			want := replaceLine(t, filledSheet, tt.old, tt.want)
			got, err := Record(".", tt.run, tt.set, tt.replace, recordedAt)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, read(t, File)); diff != "" {
				t.Errorf("sheet (-want +got):\n%s", diff)
			}
			if got.Run.Run != tt.run || got.Changed != (tt.want != "") || len(got.Faults) > 0 {
				t.Errorf("recorded run %d, changed %v, faults %v", got.Run.Run, got.Changed, got.Faults)
			}
			onlyCampaignFiles(t)
		})
	}
}

// replaceLine is text with the line that starts so replaced, if by anything.
func replaceLine(t *testing.T, text, start, by string) string {
	t.Helper()
	lines := strings.Split(text, "\n")
	i := slices.IndexFunc(lines, func(line string) bool { return strings.HasPrefix(line, start) })
	if i < 0 {
		t.Fatalf("no line starts with %q", start)
	}
	if by != "" {
		lines[i] = by
	}
	return strings.Join(lines, "\n")
}

func TestRecordRefuses(t *testing.T) {
	tests := []struct {
		name    string
		run     int
		set     []Assignment
		replace bool
		want    string
	}{
		{"another value", 1, values("spin_up=311", "pull=21.40", "status=void"), false,
			`runsheet.csv: row 3, column 9 "spin_up": spin_up is "312.50" already; "311" was not stored; use --replace to replace it
runsheet.csv: row 3, column 11 "status": status is "ok" already; "void" was not stored; use --replace to replace it`},
		{"a value taken back", 1, values("pull="), false,
			`runsheet.csv: row 3, column 10 "pull": pull is "21.4", and was not emptied; use --replace to empty it`},
		{"no such run", 9, values("spin_up=311"), false, "runsheet.csv: there is no run 9; the runs are 1 to 8"},
		{"no such name", 7, values("spin_pu=311"), false,
			`runsheet.csv: row 8: there is no column "spin_pu"; did you mean "spin_up"? The columns to fill in are "who", "start_volts", "start_temp", "spin_up", "pull", "status", "log", "done_at", "note", "water"`},
		{"what was planned", 7, values("weakening=0"), true,
			`runsheet.csv: row 8, column 5 "weakening": weakening was set by the draw and is not recorded; if the run was made otherwise, record status=void and say so in the note`},
		{"a name twice", 7, values("spin_up=1", "spin_up=2"), true, "runsheet.csv: row 8: spin_up is given twice; give it once"},
		{"nothing", 7, nil, false, "runsheet.csv: row 8: there is nothing to record; give name=value, such as spin_up=12.5"},
		{"text for a number", 7, values("spin_up=fast"), false,
			`runsheet.csv: row 8, column 9 "spin_up": "fast" is not a number; write a number, or leave the cell empty if there is none`},
		{"a comma that may stand between thousands", 7, values("spin_up=1,234"), false,
			`runsheet.csv: row 8, column 9 "spin_up": "1,234" may be 1.234 or 1234; write it without a comma`},
		{"both signs", 7, values("spin_up=1.234,5"), false,
			`runsheet.csv: row 8, column 9 "spin_up": "1.234,5" is not a number; write its digits without separators between the thousands`},
		{"another unit", 7, values("spin_up=0.3 s"), false,
			`runsheet.csv: row 8, column 9 "spin_up": "0.3 s" is in s, and spin_up is recorded in ms; give the number in ms: spin_up=…`},
		{"another word for a status", 7, values("status=done"), false,
			`runsheet.csv: row 8, column 11 "status": "done" is no status; did you mean status=ok? It can be "ok", "failed" or "void"`},
		{"a slip in a status", 7, values("status=fialed"), false,
			`runsheet.csv: row 8, column 11 "status": "fialed" is no status; did you mean status=failed? It can be "ok", "failed" or "void"`},
		{"unknown status", 7, values("status=x"), false,
			`runsheet.csv: row 8, column 11 "status": "x" is no status; give "ok", "failed" or "void"`},
		{"what was planned, in other capitals", 7, values("Weakening=0"), true,
			`runsheet.csv: row 8, column 5 "weakening": weakening was set by the draw and is not recorded; if the run was made otherwise, record status=void and say so in the note`},
		{"a name twice, in other capitals", 7, values("spin_up=1", "Spin up=1"), true, "runsheet.csv: row 8: spin_up is given twice; give it once"},
		{"a response of a failed run", 2, values("spin_up=320"), true,
			`runsheet.csv: row 4, column 11 "status": run 2 is failed, and a failed run has no responses; the response was not stored; if it did its job after all, add status=ok --replace`},
		{"no time", 7, values("done_at=noon"), false,
			`runsheet.csv: row 8, column 13 "done_at": "noon" is not a time; write it as 2026-05-09T14:30:00+02:00`},
		{"a failure with a response", 7, values("status=failed", "spin_up=400"), false,
			`runsheet.csv: row 8, column 9 "spin_up": run 7 failed, yet spin_up is 400; empty the cell, or make the status ok: a failed run has no responses`},
		{"a failure after a response", 5, values("status=failed"), true,
			`runsheet.csv: row 6, column 11 "status": run 5 has "spin_up", and a failed run has no responses; the status was not stored; if it failed, take them out too: status=failed spin_up= --replace`},
		{"a response of a void run", 4, values("pull=20"), false,
			`runsheet.csv: row 5, column 11 "status": run 4 is void; the response was not stored; use --replace if the run was made again`},
		{"text that is none", 7, values("note=\xFF"), false,
			`runsheet.csv: row 8, column 14 "note": the text is longer than 10000 bytes, or not UTF-8; shorten it, or put it in a file and name that`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			drawnCampaign(t)
			write(t, File, filledSheet)
			_, err := Record(".", tt.run, tt.set, tt.replace, recordedAt)
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("error (-want +got):\n%s", diff)
			}
			if read(t, File) != filledSheet {
				t.Errorf("the sheet was changed all the same:\n%s", read(t, File))
			}
			onlyCampaignFiles(t)
		})
	}
}

// What is wrong with other runs is reported, and keeps nobody from recording.
func TestRecordBesideFaults(t *testing.T) {
	drawnCampaign(t)
	write(t, File, strings.NewReplacer("312.50", "fast", "you,6,2,2,0,B", "you,6,2,2,0,A").Replace(filledSheet))
	got, err := Record(".", 7, values("spin_up=299", "start_volts=23"), false, recordedAt)
	if err != nil {
		t.Fatal(err)
	}
	wantFaults := `runsheet.csv: row 3, column 9 "spin_up": "fast" is not a number; write a number, or leave the cell empty if there is none
runsheet.csv: row 7, column 6 "prop": run 6 was drawn with "B", the cell has "A"; put "B" back; if the run was truly made with "A", put "B" back all the same, set the status to void and say so in the note`
	if diff := cmp.Diff(wantFaults, got.Faults.Error()); diff != "" {
		t.Errorf("faults (-want +got):\n%s", diff)
	}
	wantWarnings := `runsheet.csv: row 8, column 7 "start_volts": 23 V is below the limit of 24 V; see whether the run counts; if it was spoiled, make it void
runsheet.csv: row 8, column 10 "pull": run 7 is ok but has no pull; enter it, or leave it empty if it was not measured`
	if diff := cmp.Diff(wantWarnings, got.Warnings.Error()); diff != "" {
		t.Errorf("warnings (-want +got):\n%s", diff)
	}
	if got.Next == nil || got.Next.Run != 8 {
		t.Errorf("next is %+v, want run 8", got.Next)
	}
}

// So does an edited cell of the same row: the results are real whatever the cell
// says, and it is reported until it is put back.
func TestRecordBesideAnEditedCell(t *testing.T) {
	drawnCampaign(t)
	write(t, File, filledSheet)
	edit(t, File, "you,7,2,3,2.5,B", "you,7,2,3,2.5,A")
	got, err := Record(".", 7, values("spin_up=299"), false, recordedAt)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Faults) != 1 || got.Faults[0].Row != 8 || got.Faults[0].Name != "prop" {
		t.Errorf("faults %v, want one of prop in row 8", []fault.Fault(got.Faults))
	}
	if !strings.Contains(read(t, File), "you,7,2,3,2.5,A,,,299,,ok,") {
		t.Errorf("the value is not in the sheet:\n%s", read(t, File))
	}
}

func TestRecordNeedsTheRunsRow(t *testing.T) {
	tests := []struct{ name, old, new, want string }{
		{"gone", "you,7,2,3,2.5,B,,,,,,,,,\n", "", "runsheet.csv: run 7 has no row; restore it: run 7, block 2, position 3, weakening 2.5, prop B"},
		{"twice", "you,8,2,4,0,A", "you,7,2,3,2.5,B", `runsheet.csv: row 9, column 2 "run": run 7 stands in row 8 too; keep one row for each run, and move further results of your own to another file`},
		{"a column gone", ",done_at,", ",when,", `runsheet.csv: there is no column "done_at"; add it, anywhere: the heading and a cell in each row, empty where there is nothing to enter`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			drawnCampaign(t)
			write(t, File, filledSheet)
			edit(t, File, tt.old, tt.new)
			_, err := Record(".", 7, values("spin_up=299"), false, recordedAt)
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("error (-want +got):\n%s", diff)
			}
		})
	}
}

// A sheet that a spreadsheet program saved keeps its dialect; numbers are taken with
// either mark.
func TestRecordInTheSheetsDialect(t *testing.T) {
	for _, value := range []string{"299.5", "299,5"} {
		t.Run(value, func(t *testing.T) {
			c := campaign(t)
			_, err := Write(".", c, drawn(), drawnAt, table.Dialect{BOM: true, Separator: ';', Newline: "\r\n", DecimalComma: true})
			if err != nil {
				t.Fatal(err)
			}
			want := strings.Replace(read(t, File), "2;1;2;2,5;B;;;;;;;;\r\n", "2;1;2;2,5;B;;;299,5;;ok;;2026-05-09T14:30:00+02:00;\r\n", 1)
			_, err = Record(".", 2, values("spin_up="+value), false, recordedAt)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, read(t, File)); diff != "" {
				t.Errorf("sheet (-want +got):\n%s", diff)
			}
		})
	}
}

func TestRecordWarnsOfAnOpenSpreadsheet(t *testing.T) {
	drawnCampaign(t)
	write(t, ".~lock.runsheet.csv#", "")
	got, err := Record(".", 1, values("start_temp=18"), false, recordedAt)
	if err != nil {
		t.Fatal(err)
	}
	want := "runsheet.csv: a spreadsheet program has the sheet open; load it again there before saving, or what was recorded is lost"
	if got.Warnings.Error() != want {
		t.Errorf("warnings %q, want %q", got.Warnings.Error(), want)
	}
}

func TestRecordLeavesAReadOnlySheet(t *testing.T) {
	drawnCampaign(t)
	err := os.Chmod(File, 0o444)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Record(".", 1, values("spin_up=300"), false, recordedAt)
	want := "runsheet.csv: the file is read-only and was left as it is; allow writing to it first"
	if err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
	if read(t, File) != writtenSheet {
		t.Error("the sheet was changed all the same")
	}
	onlyCampaignFiles(t)
}

func TestRecordKeepsModeAndLink(t *testing.T) {
	drawnCampaign(t)
	err := os.Mkdir("elsewhere", 0o755)
	if err != nil {
		t.Fatal(err)
	}
	target := "elsewhere/" + File
	err = os.Rename(File, target)
	if err != nil {
		t.Fatal(err)
	}
	err = os.Symlink(target, File)
	if err != nil {
		t.Skip("no symbolic links here: ", err)
	}
	err = os.Chmod(target, 0o640)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Record(".", 1, values("spin_up=300"), false, recordedAt)
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Lstat(File)
	if err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link was replaced: %v, %v", info.Mode(), err)
	}
	info, err = os.Stat(target)
	if err != nil || info.Mode().Perm()&0o777 != 0o640 && os.PathSeparator == '/' {
		t.Errorf("mode %v, want 0640; %v", info.Mode(), err)
	}
	if !strings.Contains(read(t, target), ",300,") {
		t.Error("the value is not in the file that the link leads to")
	}
}

// However a campaign is filled in, the sheet holds what was recorded last and nothing
// else changes.
func TestRecordAgainstAModel(t *testing.T) {
	c := testPlan(t)
	draw := newDraw(c, drawn(), drawnAt)
	open := func(t *rapid.T, data []byte) *Sheet {
		doc, err := table.Parse(File, data)
		if err != nil {
			t.Fatal(err)
		}
		s := &Sheet{Campaign: c, Draw: draw}
		faults := s.match(PlanFile, doc)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return s
	}
	rapid.Check(t, func(t *rapid.T) {
		dialect := rapid.SampledFrom([]table.Dialect{
			{}, {Separator: ';', DecimalComma: true}, {Separator: '\t', Newline: "\r\n", BOM: true},
		}).Draw(t, "dialect")
		data := newSheet(File, dialect, c, draw).Bytes()
		model := map[string]string{} // by run and name
		for range rapid.IntRange(1, 20).Draw(t, "records") {
			run := rapid.IntRange(1, 8).Draw(t, "run")
			name := rapid.SampledFrom([]string{"spin_up", "pull", "start_volts", "note", "log"}).Draw(t, "name")
			value := rapid.SampledFrom([]string{"1", "2.5", "-3e2", "1000000"}).Draw(t, "number")
			if name == "note" || name == "log" {
				value = strings.TrimSpace(rapid.StringMatching(`[a-z;,"\t ]{1,8}`).Draw(t, "text"))
			}
			key := fmt.Sprint(run, name)
			replace := rapid.Bool().Draw(t, "replace")
			old, taken := model[key]
			after, _, err := open(t, data).record(PlanFile, nil, run, []Assignment{{name, value}}, replace, recordedAt)
			refused := taken && old != value && !replace
			if refused != (err != nil) {
				t.Fatalf("%s: %q over %q, replace %v: error %v", key, value, old, replace, err)
			}
			if err == nil {
				model[key] = value
				data = after
			}
			if model[key] == "" {
				delete(model, key)
			}
		}
		for _, r := range open(t, data).Runs {
			for name, got := range map[string]string{"spin_up": r.Values[0], "pull": r.Values[1], "start_volts": r.Readings[0], "note": r.Note, "log": r.Log} {
				if want := model[fmt.Sprint(r.Run, name)]; got != want {
					t.Fatalf("run %d: %s is %q, want %q", r.Run, name, got, want)
				}
			}
			if want := r.Values[0] != "" || r.Values[1] != ""; want != (r.Status == OK) {
				t.Fatalf("run %d has status %q and values %q", r.Run, r.Status, r.Values)
			}
		}
	})
}
