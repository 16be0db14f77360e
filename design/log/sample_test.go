package log

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func matches(t *testing.T, err error, pattern string) {
	t.Helper()
	if err == nil || !regexp.MustCompile(pattern).MatchString(err.Error()) {
		t.Errorf("got %v, want a match of %s", err, pattern)
	}
}

// sampleLog is a log of a run at 1 kHz with six columns.
func sampleLog(rows int) string {
	var b strings.Builder
	b.WriteString("t;Speed el.;Pull;U;I;Command\ns;rpm;gf;V;A;%\n")
	for i := range rows {
		t := float64(i) / 1000
		fmt.Fprintf(&b, "%.3f;%.1f;%.2f;%.3f;%.3f;%d\n", t, 9000+3000*math.Sin(t), 812.5+10*math.Cos(t), 24.5-t/100, 31.2+math.Sin(3*t), 100*(i/500%2))
	}
	return b.String()
}

var sampleLayout = Selection{Time: Time{Header: "t", Unit: known("s")}, Columns: []Column{
	{Header: "Speed el.", Unit: known("rpm")}, {Header: "Pull", Unit: known("gf")}, {Header: "U", Unit: known("V")},
	{Header: "I", Unit: known("A")}, {Header: "Command", Unit: known("%")}}}

func BenchmarkRead(b *testing.B) {
	text := sampleLog(100_000)
	path := write(b, "run.csv", text)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(context.Background(), path, sampleLayout); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEncodingCSV reads the same numbers of the same file with the standard library.
func BenchmarkEncodingCSV(b *testing.B) {
	text := sampleLog(100_000)
	path := write(b, "run.csv", text)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		data, err := os.ReadFile(path)
		if err != nil {
			b.Fatal(err)
		}
		r := csv.NewReader(bytes.NewReader(data))
		r.Comma, r.ReuseRecord = ';', true
		columns := make([][]float64, 6)
		for n := 0; ; n++ {
			row, err := r.Read()
			if err == io.EOF {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			for c, cell := range row {
				if x, err := strconv.ParseFloat(cell, 64); err == nil {
					columns[c] = append(columns[c], x)
				} else if n > 1 {
					b.Fatal(err)
				}
			}
		}
	}
}

// FuzzRead wants of any file that it is read or refused with words, that all columns have one length and
// that reading it packed gives the same.
func FuzzRead(f *testing.F) {
	for _, text := range []string{
		"t,Speed\n0,1\n1,2\n", "\ufefft;Speed\r\n0,5;1\r\n", "t\tSpeed\rms\trpm\r0\t1\r", "# t Speed\n 0  1\n", "\"t\";\"Speed\"\n\"0\";\"1\"\n",
		"t,Speed\n10:00:00.5,1\n", "t|Speed\n0|\n1|NaN\n", "a\nb\nt,Speed\n0,1", "t,Speed\n1e999,1\n", "t;Speed\n;\n0;1\n", "0,1\n1,2\n", "t,Speed,\n1,2,\n,,\n",
	} {
		f.Add(text, false)
	}
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, text string, isClock bool) {
		want := Selection{Time: Time{Header: "t", Clock: isClock}, Columns: []Column{{Header: "Speed"}}}
		read := func(name, content string) (*Log, error) {
			path := filepath.Join(dir, name)
			if err := os.WriteFile(path, []byte(content), 0o666); err != nil {
				t.Fatal(err)
			}
			return Read(context.Background(), path, want)
		}
		l, err := read("a.csv", text)
		p, errPacked := read("a.csv.gz", packed(t, text))
		if (err == nil) != (errPacked == nil) {
			t.Fatalf("plain: %v; packed: %v", err, errPacked)
		}
		if err != nil {
			if len(err.Error()) < 10 {
				t.Errorf("refused without words: %q", err)
			}
			return
		}
		if len(l.Columns[0]) != len(l.Time) || len(p.Time) != len(l.Time) {
			t.Errorf("%d stamps, %d values, %d stamps packed", len(l.Time), len(l.Columns[0]), len(p.Time))
		}
		for i, x := range l.Columns[0] {
			if math.IsInf(x, 0) || x != p.Columns[0][i] && x == x {
				t.Errorf("row %d: %v and %v", i, x, p.Columns[0][i])
			}
		}
	})
}

// FuzzNumber compares the quick reading of numbers with strconv.
func FuzzNumber(f *testing.F) {
	for _, text := range []string{"0", "-1.5", "9007199254740993", "1e22", "1e23", "0.1", ".5", "5.", "1,5", "123456789012345678901234567890", "1e-400", "0.000001", "-0", "1.7976931348623157e308"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		x, mark, ok := number([]byte(text))
		want, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		plain := len(strings.Trim(text, "0123456789+-.,eE")) == 0
		if ok && (err != nil || math.Float64bits(x) != math.Float64bits(want)) {
			t.Errorf("%q is %v with mark %q, strconv says %v, %v", text, x, mark, want, err)
		}
		if !ok && plain && err == nil && strings.Count(text, ",")+strings.Count(text, ".") < 2 {
			t.Errorf("%q is refused and strconv says %v", text, want)
		}
	})
}
