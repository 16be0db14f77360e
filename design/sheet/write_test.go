package sheet

import (
	"os"
	"strings"
	"testing"

	"fairrun/design/order"
	"fairrun/design/table"

	"github.com/google/go-cmp/cmp"
)

const writtenSheet = `run,block,position,weakening,prop,start_volts,start_temp,spin_up,pull,status,log,done_at,note
1,1,1,0,A,,,,,,,,
2,1,2,2.5,B,,,,,,,,
3,1,3,0,B,,,,,,,,
4,1,4,2.5,A,,,,,,,,
5,2,1,2.5,A,,,,,,,,
6,2,2,0,B,,,,,,,,
7,2,3,2.5,B,,,,,,,,
8,2,4,0,A,,,,,,,,
`

func TestWrite(t *testing.T) {
	c := campaign(t)
	tests := []struct {
		name    string
		dialect table.Dialect
		want    string
	}{
		{"plain", table.Dialect{}, writtenSheet},
		{"as a spreadsheet program with decimal commas wants it",
			table.Dialect{BOM: true, Separator: ';', Newline: "\r\n", DecimalComma: true},
			"\uFEFF" + strings.NewReplacer(",", ";", "2.5", "2,5", "\n", "\r\n").Replace(writtenSheet)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Write(".", c, drawn(), drawnAt, tt.dialect)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, read(t, File)); diff != "" {
				t.Errorf("sheet (-want +got):\n%s", diff)
			}
			onlyCampaignFiles(t)
			s, err := Open(".")
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Runs) != 8 || len(s.Warnings) > 0 || len(s.Changes) > 0 {
				t.Errorf("%d runs, warnings %v, changes %q", len(s.Runs), s.Warnings, s.Changes)
			}
		})
	}
}

func TestWriteLetsOthersRead(t *testing.T) {
	drawnCampaign(t)
	want, err := os.Stat(PlanFile) // made with 0644
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{File, DrawFile} {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode() != want.Mode() {
			t.Errorf("%s has mode %v, want %v", name, info.Mode(), want.Mode())
		}
	}
}

func TestWriteRefuses(t *testing.T) {
	const moveAway = "a new draw would lose it: move runsheet.csv and draw.json to another folder first; what was drawn is shown by fairrun sheet --show"
	tests := []struct {
		name  string
		spoil func(t *testing.T)
		want  string
	}{
		{"a result", func(t *testing.T) { edit(t, File, "1,1,1,0,A,,,,", "1,1,1,0,A,,,312,") },
			"runsheet.csv: 1 run has results or notes in the sheet; " + moveAway},
		{"notes", func(t *testing.T) {
			edit(t, File, "\n3,1,3,0,B,,,,,,,,", "\n3,1,3,0,B,,,,,,,,cold")
			edit(t, File, "\n4,1,4,2.5,A,,,,,,,,", "\n4,1,4,2.5,A,25.1,,,,,,,")
		}, "runsheet.csv: 2 runs have results or notes in the sheet; " + moveAway},
		{"a column of the person's own", func(t *testing.T) {
			write(t, File, strings.Replace(strings.ReplaceAll(read(t, File), ",\n", ",,\n"), "note\n", "note,who\n", 1))
			edit(t, File, "8,2,4,0,A,,,,,,,,,", "8,2,4,0,A,,,,,,,,,me")
		}, "runsheet.csv: 1 run has results or notes in the sheet; " + moveAway},
		{"a sheet that cannot be read", func(t *testing.T) { write(t, File, "run,run\n") },
			"there is a sheet that cannot be read, and " + moveAway + "\n" +
				`runsheet.csv: row 1, column 2 "run": column 1 has the same heading; give each column a heading of its own`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := drawnCampaign(t)
			tt.spoil(t)
			sheet, draw := read(t, File), read(t, DrawFile)
			other := drawn()
			other.Blocks[0][0], other.Blocks[0][1] = other.Blocks[0][1], other.Blocks[0][0]
			_, err := Write(".", c, other, drawnAt, table.Dialect{})
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("error (-want +got):\n%s", diff)
			}
			if read(t, File) != sheet || read(t, DrawFile) != draw {
				t.Error("a file was changed all the same")
			}
			onlyCampaignFiles(t)
		})
	}
}

func TestWriteReplacesAnEmptySheet(t *testing.T) {
	c := drawnCampaign(t)
	other := drawn()
	other.Blocks[1] = []int{0, 1, 2, 3}
	_, err := Write(".", c, other, drawnAt, table.Dialect{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := Open(".")
	if err != nil {
		t.Fatal(err)
	}
	if got := s.Runs[4].Treatment; got != 0 {
		t.Errorf("run 5 has treatment %d, want 0 of the new draw", got)
	}
}

func TestWriteRefusesDialects(t *testing.T) {
	c := campaign(t)
	_, err := Write(".", c, drawn(), drawnAt, table.Dialect{DecimalComma: true})
	if err == nil {
		t.Fatal("decimal commas between commas were accepted")
	}
	if _, err := os.Stat(File); err == nil {
		t.Error("a sheet was written")
	}
}

func TestWritePanicsOnAnotherPlansOrder(t *testing.T) {
	c := campaign(t)
	for _, blocks := range [][][]int{nil, {{0, 1, 2, 3}}, {{0, 1, 2, 3}, {0, 1, 2}}, {{0, 1, 2, 3}, {0, 1, 2, 4}}} {
		func() {
			defer func() {
				if r := recover(); r != wrongOrder {
					t.Errorf("blocks %v: recovered %v, want %q", blocks, r, wrongOrder)
				}
			}()
			_, _ = Write(".", c, &order.Drawn{Blocks: blocks}, drawnAt, table.Dialect{})
		}()
	}
}
