package table

import (
	"fairrun/design/fault"

	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// cells is the text of every cell of d, header first.
func cells(d *Document) [][]string {
	all := [][]string{d.Header}
	for row := range d.Rows() {
		line := make([]string, len(d.Header))
		for col := range line {
			line[col] = d.Cell(row, col)
		}
		all = append(all, line)
	}
	return all
}

func TestParse(t *testing.T) {
	tests := []struct {
		name    string
		in      string
		dialect Dialect
		cells   [][]string
	}{
		{"plain", "a,b\n1,2\n", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"no final line end", "a,b\n1,2", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"header alone, without an end", "a,b", Dialect{Separator: ','}, [][]string{{"a", "b"}}},
		{"CRLF and a byte order mark", "\uFEFFa,b\r\n1,2\r\n", Dialect{BOM: true, Separator: ',', Newline: "\r\n"}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"CR", "a,b\r1,2\r", Dialect{Separator: ',', Newline: "\r"}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"semicolons and decimal commas", "a;b\n1,5;2\n", Dialect{Separator: ';', DecimalComma: true}, [][]string{{"a", "b"}, {"1,5", "2"}}},
		{"semicolons take the comma for granted", "a;b\n15;2\n", Dialect{Separator: ';', DecimalComma: true}, [][]string{{"a", "b"}, {"15", "2"}}},
		{"semicolons and decimal points", "a;b\n1.5;2\n", Dialect{Separator: ';'}, [][]string{{"a", "b"}, {"1.5", "2"}}},
		{"tabs", "a\tb\n1.5\t2\n", Dialect{Separator: '\t'}, [][]string{{"a", "b"}, {"1.5", "2"}}},
		{"tabs and decimal commas", "a\tb\n1,5\t2\n", Dialect{Separator: '\t', DecimalComma: true}, [][]string{{"a", "b"}, {"1,5", "2"}}},
		{"separator by a line", "sep=;\r\na,b;c\r\n1;2\r\n", Dialect{Separator: ';', Newline: "\r\n", DecimalComma: true}, [][]string{{"a,b", "c"}, {"1", "2"}}},
		{"commas inside quoted headings do not count", "\"a,b,c\";d\n1;2\n", Dialect{Separator: ';', DecimalComma: true}, [][]string{{"a,b,c", "d"}, {"1", "2"}}},
		{"a tie goes to the semicolon", "mass, kg;time\n1;2\n", Dialect{Separator: ';', DecimalComma: true}, [][]string{{"mass, kg", "time"}, {"1", "2"}}},
		{"one column", "a\n1\n2\n", Dialect{Separator: ','}, [][]string{{"a"}, {"1"}, {"2"}}},
		{"quotes, separators and lines in a cell", "a,b\n\"1, \"\"2\"\"\n3\",x\n", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"1, \"2\"\n3", "x"}}},
		{"a quote inside an unquoted cell", "a,b\n5\" prop,2\n", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"5\" prop", "2"}}},
		{"spaces around cells, kept inside quotes", " a , b \n 1 , \" 2 \" \n", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"1", " 2 "}}},
		{"no-break spaces around cells", "a,b\n\u00A01\u00A0,2\n", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"blank rows", "\n,,\na,b\n\n1,2\n , \n3,4\n,,,,\n", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"1", "2"}, {"3", "4"}}},
		{"blank rows tell no separator", "\t\t\n \na,b\n1,2\n", Dialect{Separator: ','}, [][]string{{"a", "b"}, {"1", "2"}}},
		{"quotes with nothing in them are not blank", "a\n\"\"\n", Dialect{Separator: ','}, [][]string{{"a"}, {""}}},
		{"empty headings, as R writes", "\"\",\"y\"\n\"1\",2\n", Dialect{Separator: ','}, [][]string{{"", "y"}, {"1", "2"}}},
		{"cells left out at the end of a row", "a,b,c\n1,2\n3\n", Dialect{Separator: ','}, [][]string{{"a", "b", "c"}, {"1", "2", ""}, {"3", "", ""}}},
		{"mixed line ends", "a,b\r\n1,2\n3,4\r5,6", Dialect{Separator: ',', Newline: "\r\n"}, [][]string{{"a", "b"}, {"1", "2"}, {"3", "4"}, {"5", "6"}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Parse("x.csv", []byte(tt.in))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.dialect.resolved(), d.Dialect.resolved()); diff != "" {
				t.Errorf("dialect (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.cells, cells(d)); diff != "" {
				t.Errorf("cells (-want +got):\n%s", diff)
			}
			if got := string(d.Bytes()); got != tt.in {
				t.Errorf("Bytes() = %q, want %q", got, tt.in)
			}
		})
	}
}

func TestParseFaults(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"empty", "", "x.csv: the file is empty; its first row must hold the headings of the columns"},
		{"blank", "\uFEFF\n,,\n \n", "x.csv: the file is empty; its first row must hold the headings of the columns"},
		{"too many cells", "a,b\n1,2,3\n", `x.csv: row 2: the row has 3 cells, the header has 2; put a cell that holds the separator itself in double quotes, or give the further columns headings`},
		{"duplicate heading", "a,b, a\n", `x.csv: row 1, column 3 "a": column 1 has the same heading; give each column a heading of its own`},
		{"unclosed quote", "a,b\n\"1\n2\",3\n4,\"5\n6,7\n", `x.csv: row 3 (line 4), column 2 "b": a quote opens here and is never closed; close it, or write a quote inside a quoted cell as two: ""`},
		{"unclosed quote in the header", "\"a,b\n1,2\n", `x.csv: row 1, column 1: a quote opens here and is never closed; close it, or write a quote inside a quoted cell as two: ""`},
		{"text after a quote", "a,b\n\"5\" prop,2\n", `x.csv: row 2, column 1 "a": "prop" follows the quote that closes the cell; write a quote inside a quoted cell as two: ""`},
		{"Windows-1252", "a,b\n1,20 \xB0C\n", `x.csv: row 2, column 2 "b": byte 0xB0, number 10 of the file, is not UTF-8 text; save the file as "CSV UTF-8" or, in an editor, with encoding UTF-8`},
		{"UTF-16 with a byte order mark", "\xFF\xFEa\x00,\x00b\x00\n\x00", `x.csv: is UTF-16 text; save it as "CSV UTF-8" or, in an editor, with encoding UTF-8`},
		{"UTF-16 without", "a\x00,\x00b\x00\n\x00", `x.csv: is UTF-16 text; save it as "CSV UTF-8" or, in an editor, with encoding UTF-8`},
		{"a workbook", "PK\x03\x04\x14\x00\x06\x00abcdefgh", `x.csv: is a spreadsheet program's own file, not text; export the table as "CSV UTF-8"`},
		{"a zero byte far down", "a,b\n" + strings.Repeat("1,2\n", 200) + "1,\x002\n", `x.csv: row 202, column 2 "b": a zero byte; export the table as "CSV UTF-8"`},
		{"all at once", "a,a\n1,2,3\n\"4\"x,5\n", `x.csv: row 1, column 2 "a": column 1 has the same heading; give each column a heading of its own
x.csv: row 2: the row has 3 cells, the header has 2; put a cell that holds the separator itself in double quotes, or give the further columns headings
x.csv: row 3, column 1 "a": "x" follows the quote that closes the cell; write a quote inside a quoted cell as two: ""`},
		{"a row without end", "a,b\n" + strings.Repeat("x", maxRowBytes+1) + "\n", "x.csv: row 2: the row is longer than 1048576 bytes; check that this is a table, with one row a line"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Parse("x.csv", []byte(tt.in))
			if err == nil {
				t.Fatalf("no error; cells %q", cells(d))
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("error (-want +got):\n%s", diff)
			}
			var f *fault.Fault
			if !errors.As(err, &f) {
				t.Errorf("no *fault.Fault in %T", err)
			}
		})
	}
}

func TestFaultsAreBounded(t *testing.T) {
	in := "a,b\n" + strings.Repeat("1,2,3\n", 5000)
	_, err := Parse("x.csv", []byte(in))
	var fs fault.List
	if !errors.As(err, &fs) || len(fs) != maxFaults+1 {
		t.Fatalf("%d faults, want %d and one that says reading stopped", len(fs), maxFaults)
	}
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != fault.Shown+1 || lines[fault.Shown] != "x.csv: and 981 more" {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
}

func TestPlace(t *testing.T) {
	d, err := Parse("x.csv", []byte("a,b\n\n\"1\n\",2\n3,4\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := fault.Fault{File: "x.csv", Row: 4, Line: 5, Column: 2, Name: "b"}
	if diff := cmp.Diff(want, d.Place(1, 1)); diff != "" {
		t.Errorf("Place(1, 1) (-want +got):\n%s", diff)
	}
	want = fault.Fault{File: "x.csv", Row: 3, Line: 3}
	if diff := cmp.Diff(want, d.Place(0, -1)); diff != "" {
		t.Errorf("Place(0, -1) (-want +got):\n%s", diff)
	}
}

func TestSet(t *testing.T) {
	tests := []struct {
		name     string
		in       string
		row, col int
		text     string
		want     string
	}{
		{"plain", "a,b\r\n1,2\r\n", 0, 1, "3", "a,b\r\n1,3\r\n"},
		{"spaces stay", "a,  b\n1,  2 \n", 0, 1, "3", "a,  b\n1,  3 \n"},
		{"quotes stay", "a,b\n\"1\",2\n", 0, 0, "3", "a,b\n\"3\",2\n"},
		{"separator", "a,b\n1,2", 0, 1, "x, y", "a,b\n1,\"x, y\""},
		{"another separator needs no quotes", "a;b\n1;2\n", 0, 1, "x, y", "a;b\n1;x, y\n"},
		{"quote", "a,b\n1,2\n", 0, 1, `5" prop`, "a,b\n1,\"5\"\" prop\"\n"},
		{"lines", "a,b\n1,2\n", 0, 1, "x\ny", "a,b\n1,\"x\ny\"\n"},
		{"space of its own", "a,b\n1,2\n", 0, 1, " x", "a,b\n1,\" x\"\n"},
		{"the same text changes nothing", "a,b\n1, \"2\" \n", 0, 1, "2", "a,b\n1, \"2\" \n"},
		{"a cell left out", "a,b,c\n1\n", 0, 2, "3", "a,b,c\n1,,3\n"},
		{"a row never turns blank", "a,b\n,2\n", 0, 1, "", "a,b\n,\"\"\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Parse("x.csv", []byte(tt.in))
			if err != nil {
				t.Fatal(err)
			}
			d.Set(tt.row, tt.col, tt.text)
			if got := string(d.Bytes()); got != tt.want {
				t.Errorf("Bytes() = %q, want %q", got, tt.want)
			}
			if got := d.Cell(tt.row, tt.col); got != tt.text {
				t.Errorf("Cell = %q, want %q", got, tt.text)
			}
		})
	}
}

func TestSetNumber(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"comma file", "a,b\n1.5,2\n", "a,b\n1.5,3.25\n"},
		{"semicolons", "a;b\n1;2\n", "a;b\n1;3,25\n"},
		{"the file writes commas", "a;b\n1,5;2\n", "a;b\n1,5;3,25\n"},
		{"the file writes points", "a;b\n1.5;2\n", "a;b\n1.5;3.25\n"},
		{"the column before the file", "a;b\n1,5;2\n1,5;2.5\n", "a;b\n1,5;3.25\n1,5;2.5\n"},
		{"tabs", "a\tb\n1\t2\n", "a\tb\n1\t3.25\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Parse("x.csv", []byte(tt.in))
			if err != nil {
				t.Fatal(err)
			}
			d.SetNumber(0, 1, "3.25")
			if got := string(d.Bytes()); got != tt.want {
				t.Errorf("Bytes() = %q, want %q", got, tt.want)
			}
		})
	}
}

func TestNumbers(t *testing.T) {
	tests := []struct {
		name, in string
		want     []string
		faults   string
	}{
		{"points", "a,y\n1,12.5\n2,\n3,NA\n4,-3e2\n", []string{"12.5", "", "", "-3e2"}, ""},
		{"commas", "a;y\n1;12,5\n2; 3 \n", []string{"12.5", "3"}, ""},
		{"both", "a;y\n1;12,5\n2;2.5\n3;4,5\n", []string{"12.5", "", "4.5"}, `x.csv: row 3, column 2 "y": "2.5" has a decimal point, the number in row 2 a decimal comma; write one decimal mark throughout the column`},
		{"text", "a,y\n1,cold\n2,1e-999\n", []string{"", ""}, `x.csv: row 2, column 2 "y": "cold" is not a number; write a number, or leave the cell empty if there is none
x.csv: row 3, column 2 "y": "1e-999" is too large, too small or too long for a number; write an ordinary number, or leave the cell empty`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Parse("x.csv", []byte(tt.in))
			if err != nil {
				t.Fatal(err)
			}
			got, faults := d.Numbers(1)
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("numbers (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.faults, faults.Error()); diff != "" {
				t.Errorf("faults (-want +got):\n%s", diff)
			}
		})
	}
}

func TestAppend(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"with a final line end", "a,b\r\n1,2\r\n", "a,b\r\n1,2\r\n3.5,x\r\n"},
		{"without", "a,b\n1,2", "a,b\n1,2\n3.5,x"},
		{"before blank rows", "a,b\n1,2\n,\n", "a,b\n1,2\n3.5,x\n,\n"},
		{"after the header alone", "a,b", "a,b\n3.5,x"},
		{"decimal comma", "a;b\n1,5;2\n", "a;b\n1,5;2\n3,5;x\n"},
		{"decimal comma taken for granted", "a;b\n", "a;b\n3,5;x\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Parse("x.csv", []byte(tt.in))
			if err != nil {
				t.Fatal(err)
			}
			d.Append([][]string{{"3.5", "x"}}, []bool{true, false})
			if got := string(d.Bytes()); got != tt.want {
				t.Errorf("Bytes() = %q, want %q", got, tt.want)
			}
			again, err := Parse("x.csv", d.Bytes())
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(cells(again), cells(d)); diff != "" {
				t.Errorf("read again (-want +got):\n%s", diff)
			}
		})
	}
}

func TestReadRefusesLargeFiles(t *testing.T) {
	path := filepath.Join(t.TempDir(), "large.csv")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	err = errors.Join(f.Truncate(200<<20), f.Close())
	if err != nil {
		t.Fatal(err)
	}
	_, err = Read(path, 16<<20)
	want := path + ": the file is too large: 200 MiB, at most 16 MiB are read; check that this is the right file"
	if err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
}

// anyText is text for a cell, rich in what must be quoted.
func anyText() *rapid.Generator[string] {
	return rapid.StringOf(rapid.RuneFrom([]rune("ab1.,;\t\"\r\n  \u00A0µ=")))
}

func anyDialect() *rapid.Generator[Dialect] {
	return rapid.Custom(func(t *rapid.T) Dialect {
		return Dialect{
			BOM:       rapid.Bool().Draw(t, "BOM"),
			Separator: rapid.SampledFrom([]byte(",;\t")).Draw(t, "separator"),
			Newline:   rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "newline"),
		}
	})
}

// What is written in any dialect reads back as the same cells, and setting one
// cell leaves the bytes before and after it.
func TestWrittenReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(1, 4).Draw(t, "width")
		header := rapid.SliceOfNDistinct(anyText(), width, width, strings.TrimSpace).Draw(t, "header")
		for k := range header {
			header[k] = strings.TrimSpace(header[k])
		}
		rows := rapid.SliceOf(rapid.SliceOfN(anyText(), width, width)).Draw(t, "rows")
		d := New("x.csv", anyDialect().Draw(t, "dialect"), header)
		d.Append(rows, nil)

		before := d.Bytes()
		again, err := Parse("x.csv", before)
		if err != nil {
			t.Fatalf("%q: %v", before, err)
		}
		if diff := cmp.Diff(cells(d), cells(again)); diff != "" {
			t.Fatalf("%q reads (-want +got):\n%s", before, diff)
		}
		if !bytes.Equal(again.Bytes(), before) {
			t.Fatalf("%q written again is %q", before, again.Bytes())
		}
		if len(rows) == 0 {
			return
		}
		row := rapid.IntRange(0, len(rows)-1).Draw(t, "row")
		col := rapid.IntRange(0, width-1).Draw(t, "col")
		text := anyText().Draw(t, "text")
		want := cells(again)
		want[row+1][col] = text
		again.Set(row, col, text)
		after := again.Bytes()
		third, err := Parse("x.csv", after)
		if err != nil {
			t.Fatalf("%q: %v", after, err)
		}
		if diff := cmp.Diff(want, cells(third)); diff != "" {
			t.Fatalf("%q reads (-want +got):\n%s", after, diff)
		}
		head, tail := around(d, row, col)
		if !bytes.HasPrefix(after, head) || !bytes.HasSuffix(after, tail) {
			t.Fatalf("setting cell %d, %d turned %q into %q", row, col, before, after)
		}
	})
}

// around is the bytes of d before and after a cell.
func around(d *Document, row, col int) (head, tail []byte) {
	const mark = "\x00"
	raw := d.records[d.rows[row]].raw
	kept := raw[col]
	raw[col] = mark
	head, tail, _ = bytes.Cut(d.Bytes(), []byte(mark))
	raw[col] = kept
	return head, tail
}

// Every byte of an accepted file survives, and so does every other cell when one is
// set.
func FuzzDocument(f *testing.F) {
	seedCorpus(f, func(data []byte) { f.Add(data, uint8(0), uint8(1), "12.5; \"x\"") })
	f.Fuzz(func(t *testing.T, data []byte, row, col uint8, text string) {
		d, err := Parse("x.csv", data)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		if !bytes.Equal(d.Bytes(), data) {
			t.Fatalf("%q written again is %q", data, d.Bytes())
		}
		if d.Rows() == 0 {
			return
		}
		text = strings.ReplaceAll(strings.ToValidUTF8(text, ""), "\x00", "")
		r, c := int(row)%d.Rows(), int(col)%len(d.Header)
		want := cells(d)
		want[r+1][c] = text
		d.Set(r, c, text)
		again, err := Parse("x.csv", d.Bytes())
		if err != nil {
			t.Fatalf("%q: %v", d.Bytes(), err)
		}
		if diff := cmp.Diff(want, cells(again)); diff != "" {
			t.Fatalf("%q reads (-want +got):\n%s", d.Bytes(), diff)
		}
	})
}

// seedCorpus calls add with each file of testdata.
func seedCorpus(f *testing.F, add func(data []byte)) {
	paths, err := filepath.Glob("testdata/*.csv")
	if err != nil || len(paths) == 0 {
		f.Fatalf("no files to start from: %v", err)
	}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		add(data)
	}
}
