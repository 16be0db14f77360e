package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func TestReadColumns(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name    string
		in      string
		levels  []string
		code    []int32
		y       []float64
		missing int // numbers
	}{
		{"plain", "id,g,y\n1,B,2.5\n2,A,3\n3,B,-1e3\n", []string{"A", "B"}, []int32{1, 0, 1}, []float64{2.5, 3, -1000}, 0},
		{"byte order mark, CRLF, semicolons, decimal commas", "\uFEFFid;g;y\r\n1;B;2,5\r\n2;A;3\r\n", []string{"A", "B"}, []int32{1, 0}, []float64{2.5, 3}, 0},
		{"numbers as levels, by value", "g;y\n10;1\n2,5;1\n-1;1\n", []string{"-1", "2,5", "10"}, []int32{2, 1, 0}, []float64{1, 1, 1}, 0},
		{"missing", "g,y\nA,\n,1\n\"\",NA\n", []string{"A"}, []int32{0, -1, -1}, []float64{nan, 1, nan}, 2},
		{"NA of R, and a level called NA", "\"g\",\"y\"\n\"NA\",1\nNA,2\n", []string{"NA"}, []int32{0, -1}, []float64{1, 2}, 0},
		{"quoted numbers, spaces and quotes", "g,y\n\" A \",\" 1.5\"\n \"5\"\" prop\" , 2 \n", []string{"5\" prop", "A"}, []int32{1, 0}, []float64{1.5, 2}, 0},
		{"blank rows", "\ng,y\n\nA,1\n,\nB,2\n\n", []string{"A", "B"}, []int32{0, 1}, []float64{1, 2}, 0},
		{"no rows", "g,y\n", nil, nil, nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := ReadColumns("x.csv", strings.NewReader(tt.in), Wanted{Categorical: []string{"g"}, Numeric: []string{"y"}})
			if err != nil {
				t.Fatal(err)
			}
			g, y := c.Categorical[0], c.Numeric[0]
			if diff := cmp.Diff(tt.levels, g.Levels, cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("levels (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.code, g.Code, cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("codes (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.y, y.Values.Floats(), cmpopts.EquateNaNs(), cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("numbers (-want +got):\n%s", diff)
			}
			if y.Missing != tt.missing || c.Rows != len(tt.code) {
				t.Errorf("%d missing in %d rows, want %d in %d", y.Missing, c.Rows, tt.missing, len(tt.code))
			}
		})
	}
}

func TestReadColumnsFaults(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"text", "g,y\nA,1\nB,fast\n", `x.csv: row 3, column 2 "y": "fast" is not a number; write a number, or leave the cell empty if there is none`},
		{"a unit", "g,y\nA,12.5 ms\n", `x.csv: row 2, column 2 "y": "12.5 ms" is not a number; write the number alone: a unit belongs in the plan or the heading`},
		{"thousands", "g;y\nA;1.234,5\n", `x.csv: row 2, column 2 "y": "1.234,5" is not a number; write its digits without separators between the thousands`},
		{"a decimal comma between commas", "g,y\nA,\"12,5\"\n", `x.csv: row 2, column 2 "y": "12,5" is not a number; write it with a decimal point, since commas separate the cells`},
		{"both marks", "g;y\nA;1,5\nB;2\nC;2.5\nD;3.5\n", `x.csv: row 4, column 2 "y": "2.5" has a decimal point, the number in row 2 a decimal comma; write one decimal mark throughout the column`},
		{"out of range", "g,y\nA,1e999\n", `x.csv: row 2, column 2 "y": "1e999" is too large, too small or too long for a number; write an ordinary number, or leave the cell empty`},
		{"NaN", "g,y\nA,NaN\n", `x.csv: row 2, column 2 "y": "NaN" is not a number; write a number, or leave the cell empty if there is none`},
		{"one number as two levels", "g,y\n0,1\n4,1\n0.0,1\n", `x.csv: row 4, column 1 "g": "0.0" is the same number as "0" in row 2, but another text: one level or two?; write it in one way; if they differ, put a letter before each`},
		{"no such columns", "G,why,yy\n1,2,3\n", `x.csv: there is no column "g"; did you mean "G"? The columns are "G", "why", "yy"
x.csv: there is no column "y"; the columns are "G", "why", "yy"`},
		{"ragged", "g,y\nA\nA,1,2\n", `x.csv: row 2: the row has 1 cell, the header has 2; add what is missing, or the separators of empty cells
x.csv: row 3: the row has 3 cells, the header has 2; put a cell that holds the separator itself in double quotes, or give the further columns headings`},
		{"empty", "", "x.csv: the file is empty; its first row must hold the headings of the columns"},
		{"blank", "\n,,\n", "x.csv: the file is empty; its first row must hold the headings of the columns"},
		{"never closed", "g,y\n\"" + strings.Repeat("A,1\n", 1<<19), `x.csv: row 2, column 1 "g": a quote opens here and is never closed; close it, or write a quote inside a quoted cell as two: ""`},
		{"rows after a cell of many lines", "g,y\n\"a\nb\",1\nB,x\n", `x.csv: row 3 (line 4), column 2 "y": "x" is not a number; write a number, or leave the cell empty if there is none`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadColumns("x.csv", strings.NewReader(tt.in), Wanted{Categorical: []string{"g"}, Numeric: []string{"y"}})
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("error (-want +got):\n%s", diff)
			}
		})
	}
}

func TestReadColumnsOptional(t *testing.T) {
	c, err := ReadColumns("x.csv", strings.NewReader("g,status,y\nA,ok,1\nB,,2\nB,failed,\n"),
		Wanted{Categorical: []string{"g"}, Numeric: []string{"y"}, Optional: []string{"weather", "status"}})
	if err != nil {
		t.Fatal(err)
	}
	want := []*Category{nil, {Name: "status", Levels: []string{"failed", "ok"}, Code: []int32{1, -1, 0}, Missing: 1}}
	if diff := cmp.Diff(want, c.Optional); diff != "" {
		t.Errorf("optional columns (-want +got):\n%s", diff)
	}
}

// What an optional column holds is not the asker's business unless it is used.
func TestReadColumnsOptionalHasNoFaults(t *testing.T) {
	_, err := ReadColumns("x.csv", strings.NewReader("y,status\n1,0\n2,0.0\n"), Wanted{Numeric: []string{"y"}, Optional: []string{"status"}})
	if err != nil {
		t.Errorf("numbers written in two ways: %v", err)
	}
}

func TestReadColumnsPassesReadErrors(t *testing.T) {
	broken := errors.New("the disk is gone")
	r := io.MultiReader(strings.NewReader("g,y\nA,1\nA"), iotest.ErrReader(broken))
	_, err := ReadColumns("x.csv", r, Wanted{Numeric: []string{"y"}})
	if !errors.Is(err, broken) {
		t.Errorf("error %v, want %v", err, broken)
	}
}

func TestFileRow(t *testing.T) {
	c, err := ReadColumns("x.csv", strings.NewReader("\na\n\n1\n2\n\n\n3\n"), Wanted{})
	if err != nil {
		t.Fatal(err)
	}
	for row, want := range []int{4, 5, 8} {
		if got := c.FileRow(row); got != want {
			t.Errorf("FileRow(%d) = %d, want %d", row, got, want)
		}
	}
}

// The order of the rows does not touch the levels.
func TestLevelsDoNotDependOnRows(t *testing.T) {
	rows := []string{"P10,1", "p2,2", "P2,3", "P1,4", "off,5"}
	want := []string{"off", "P1", "P2", "p2", "P10"}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		rng.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
		c, err := ReadColumns("x.csv", strings.NewReader("g,y\n"+strings.Join(rows, "\n")), Wanted{Categorical: []string{"g"}})
		if err != nil {
			t.Fatal(err)
		}
		g := c.Categorical[0]
		if diff := cmp.Diff(want, g.Levels); diff != "" {
			t.Fatalf("levels (-want +got):\n%s", diff)
		}
		for i, row := range rows {
			level, _, _ := strings.Cut(row, ",")
			if got := g.Levels[g.Code[i]]; got != level {
				t.Fatalf("row %d has level %q, want %q", i, got, level)
			}
		}
	}
}

// Wherever the reader's buffer ends, between two quotes or CR and LF, the rows are
// the same.
func TestReadColumnsAcrossBuffers(t *testing.T) {
	const rows = "\"a\"\"b\" ,1.25\r\n\"\",22\r\"c\r\nd\",\r\ne,3\r\n"
	w := Wanted{Categorical: []string{"g"}, Numeric: []string{"y"}}
	for pad := range 2 * headBytes {
		in := "g,y\r\n" + strings.Repeat("\n", pad) + strings.Repeat(rows, 40)
		c, err := readColumns(newScanner("x.csv", strings.NewReader(in), make([]byte, 0, 16)), w)
		if err != nil {
			t.Fatalf("%d blank rows: %v", pad, err)
		}
		g := c.Categorical[0]
		want := []string{`a"b`, "c\r\nd", "e"}
		if diff := cmp.Diff(want, g.Levels); diff != "" || c.Rows != 160 || g.Missing != 40 || c.Numeric[0].Missing != 40 {
			t.Fatalf("%d blank rows: %d rows, %d and %d missing, levels (-want +got):\n%s", pad, c.Rows, g.Missing, c.Numeric[0].Missing, diff)
		}
		if first, last := c.FileRow(0), c.FileRow(159); first != pad+2 || last != pad+161 {
			t.Fatalf("%d blank rows: the rows are %d to %d, want %d to %d", pad, first, last, pad+2, pad+161)
		}
	}
}

// The streaming reader, with a small buffer, accepts what Parse accepts and reads the
// same text, but for rows that lack cells and for one number as two levels.
func FuzzReadColumns(f *testing.F) {
	seedCorpus(f, func(data []byte) { f.Add(data, uint16(0)); f.Add(data, uint16(headBytes-40)) })
	f.Fuzz(func(t *testing.T, data []byte, blanks uint16) {
		// Blank rows move the data across the ends of the buffer.
		data = append(bytes.Repeat([]byte{'\n'}, int(blanks)%(4*headBytes)), data...)
		d, parseErr := Parse("x.csv", data)
		var w Wanted
		if parseErr == nil {
			for _, name := range d.Header {
				if name != "" {
					w.Categorical = append(w.Categorical, name)
				}
			}
		}
		s := newScanner("x.csv", iotest.HalfReader(bytes.NewReader(data)), make([]byte, 0, 4))
		c, err := readColumns(s, w)
		if err != nil {
			if parseErr == nil && !strings.Contains(err.Error(), "the row has") && !strings.Contains(err.Error(), "is the same number") {
				t.Fatalf("Parse takes %q, ReadColumns says %v", data, err)
			}
			return
		}
		if parseErr != nil {
			t.Fatalf("ReadColumns takes %q, Parse says %v", data, parseErr)
		}
		if c.Rows != d.Rows() {
			t.Fatalf("%d rows, Parse finds %d", c.Rows, d.Rows())
		}
		for _, g := range c.Categorical {
			col := d.Column(g.Name)
			for row, code := range g.Code {
				text := strings.TrimSpace(d.Cell(row, col))
				switch {
				case code < 0 && text != "" && text != "NA", code >= 0 && g.Levels[code] != text:
					t.Fatalf("row %d of %q has code %d of %q, Parse reads %q", row, g.Name, code, g.Levels, text)
				}
				if want := d.Place(row, col).Row; c.FileRow(row) != want {
					t.Fatalf("FileRow(%d) = %d, want %d", row, c.FileRow(row), want)
				}
			}
		}
	})
}

// tankData is a table of n rows: two factors, a block, a covariate and a response.
func tankData(n int) []byte {
	rng := rand.New(rand.NewPCG(3, 4))
	var b bytes.Buffer
	b.WriteString("pack,weakening,prop,position,spin_up\n")
	for i := range n {
		fmt.Fprintf(&b, "%d,%d,%c,%d,%.3f\n", i/2000, 4*rng.IntN(4), 'A'+rune(rng.IntN(3)), i%2000, 300+10*rng.NormFloat64())
	}
	return b.Bytes()
}

func benchmarkReadColumns(b *testing.B, rows int) {
	data := tankData(rows)
	w := Wanted{Categorical: []string{"pack", "weakening", "prop"}, Numeric: []string{"position", "spin_up"}}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		c, err := ReadColumns("tank.csv", bytes.NewReader(data), w)
		if err != nil || c.Rows != rows {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadColumns100k(b *testing.B) { benchmarkReadColumns(b, 100_000) }
func BenchmarkReadColumns1M(b *testing.B)   { benchmarkReadColumns(b, 1_000_000) }

// One wanted column of the five: what is not wanted costs next to nothing.
func BenchmarkReadOneColumn100k(b *testing.B) {
	data := tankData(100_000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		_, err := ReadColumns("tank.csv", bytes.NewReader(data), Wanted{Numeric: []string{"spin_up"}})
		if err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParse60Runs(b *testing.B) {
	data := tankData(60)
	b.ReportAllocs()
	for b.Loop() {
		_, err := Parse("tank.csv", data)
		if err != nil {
			b.Fatal(err)
		}
	}
}

func TestSortLevels(t *testing.T) {
	tests := []struct {
		name    string
		dialect Dialect
		want    []string
	}{
		{"numbers by value", Dialect{}, []string{"-2", "0", "1e-1", "0.5", "8", "12"}},
		{"decimal commas", Dialect{Separator: ';'}, []string{"-2", "0,5", "8", "12"}},
		{"one text among them", Dialect{}, []string{"4", "8", "12", "off"}},
		{"numbers in text", Dialect{}, []string{"prop 2", "prop 10", "prop 10 b"}},
		{"capitals beside small letters", Dialect{}, []string{"A", "a", "B", "b"}},
		{"leading zeros", Dialect{}, []string{"p007", "p7", "p08"}},
		{"beyond any integer", Dialect{}, []string{"p9", "p99999999999999999999", "p100000000000000000000"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(5, 6))
			got := slices.Clone(tt.want)
			for range 10 {
				rng.Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
				tt.dialect.SortLevels(got)
				if diff := cmp.Diff(tt.want, got); diff != "" {
					t.Fatalf("(-want +got):\n%s", diff)
				}
			}
		})
	}
}

func TestNumber(t *testing.T) {
	tests := []struct {
		text      string
		separator byte
		point     string // "" for no number
		value     float64
	}{
		{"12", ',', "12", 12},
		{"-12.5", ',', "-12.5", -12.5},
		{"+.5e-3", ',', "+.5e-3", 0.0005},
		{"5.", ',', "5.", 5},
		{"12,5", ',', "", 0},
		{"12,5", ';', "12.5", 12.5},
		{"12,5E2", '\t', "12.5E2", 1250},
		{"", ',', "", 0},
		{".", ',', "", 0},
		{"1.2.3", ',', "", 0},
		{"1e", ',', "", 0},
		{"0x10", ',', "", 0},
		{"1_000", ',', "", 0},
		{"Inf", ',', "", 0},
		{"1e999", ',', "", 0},
		{" 1", ',', "", 0},
	}
	for _, tt := range tests {
		point, value, ok := Dialect{Separator: tt.separator}.Number(tt.text)
		if point != tt.point || value != tt.value || ok != (tt.point != "") {
			t.Errorf("Number(%q) with %q = %q, %v, %v, want %q, %v", tt.text, tt.separator, point, value, ok, tt.point, tt.value)
		}
	}
}
