package log

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fairrun/design/unit"
)

func write(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func known(text string) unit.Unit {
	u, err := unit.Parse(text)
	if err != nil {
		panic(err)
	}
	return u
}

var none = math.NaN()

func TestRead(t *testing.T) {
	t.Parallel()
	plain := Selection{Time: Time{Header: "t"}, Columns: []Column{{Header: "Speed"}, {Header: "Pull"}}}
	tests := []struct {
		name, text string
		want       Selection
		time       []float64
		columns    [][]float64
		units      string
		cut        bool
	}{
		{"commas", "t,Speed,Pull\n0,100,1.5\n0.1,200,2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"other columns between and around", "x,Pull,y,t,z,Speed,w\n9,1.5,a,0,9,100,9\n9,2.5,b,0.1,9,200,9\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"semicolons, decimal commas, CRLF, byte order mark", "\ufefft;Speed;Pull\r\n0,0;100;1,5\r\n0,1;200;2,5\r\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"tabs", "t\tSpeed\tPull\n0\t100\t1.5\n0.1\t200\t2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"tabs and decimal commas", "t\tSpeed\tPull\n0\t100\t1,5\n0,1\t200\t2,5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"bars", "t|Speed|Pull\n0|100|1.5\n0.1|200|2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"blanks", "  t    Speed  Pull\n  0.0  100    1.5\n  0.1  200  2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"blanks after commas", "t, Speed, Pull\n0, 100, 1.5\n0.1, 200, 2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"old line ends", "t,Speed,Pull\r0,100,1.5\r0.1,200,2.5\r", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"quotes", "\"t\";\"Speed\";\"Pull\"\n\"0\";\"100\";\"1,5\"\n\"0,1\";\"200\";\"2,5\"\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"preamble", "Logger 3;\nRate;2000;Hz\nStart;09.05.2026 14:00:00\n\nt;Speed;Pull\n0;100;1.5\n0.1;200;2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"preamble as wide as the rows", "Rate;2000;Hz\nt;Speed;Pull\n0;100;1.5\n0.1;200;2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"row of units", "t;Speed;Pull\nms;rpm;N\n0;100;1.5\n100;200;2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, "rpm N", false},
		{"row of units in brackets", "t;Speed;Pull\n[ms];[rpm];[N]\n0;100;1.5\n100;200;2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, "rpm N", false},
		{"units in the heading", "t [ms],Speed (rpm),Pull / N\n0,100,1.5\n100,200,2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, "rpm N", false},
		{"heading behind a #", "# t,Speed,Pull\n0,100,1.5\n# a mark\n0.1,200,2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"heading in Latin-1 and capitals", "T;SPEED [\xb0];Pull\n0;100;1.5\n0.1;200;2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, "° ", false},
		{"no heading", "0,100,1.5\n0.1,200,2.5\n", Selection{Time: Time{Header: "column 1"}, Columns: []Column{{Header: "column 3"}}}, []float64{0, .1}, [][]float64{{1.5, 2.5}}, "", false},
		{"the log says mA, A are wanted", "t;I [mA]\n0;1500\n1;2500\n", Selection{Time: Time{Header: "t"}, Columns: []Column{{Header: "I", Unit: known("A")}}}, []float64{0, 1}, [][]float64{{1.5, 2.5}}, "A", false},
		{"time in µs", "t,Speed,Pull\n0,100,1.5\n100000,200,2.5\n", Selection{Time: Time{Header: "t", Unit: known("µs")}, Columns: plain.Columns}, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"clock over midnight", "t;Speed;Pull\n23:59:59.900;100;1.5\n00:00:00.100;200;2.5\n", Selection{Time: Time{Header: "t", Clock: true}, Columns: plain.Columns}, []float64{86399.9, 86400.1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"clock with decimal commas", "t;Speed;Pull\n01:00:00,500;100;1,5\n01:00:01,500;200;2,5\n", Selection{Time: Time{Header: "t", Clock: true}, Columns: plain.Columns}, []float64{3600.5, 3601.5}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"date and clock", "t,Speed,Pull\n2028-02-28T23:00:00Z,100,1.5\n2028-03-01 01:00:00+00:00,200,2.5\n", Selection{Time: Time{Header: "t", Clock: true}, Columns: plain.Columns}, []float64{82800, 2*86400 + 3600}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"sample rate", "Speed,Pull\n100,1.5\n200,2.5\n", Selection{Time: Time{Rate: 2000}, Columns: plain.Columns}, []float64{0, .0005}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"signals of two rates", "t,Speed,Pull\n0,100,\n0.1,,2.5\n0.2,300,NaN\n0.3,-,3\n", plain, []float64{0, .1, .2, .3}, [][]float64{{100, none, 300, none}, {none, 2.5, none, 3}}, " ", false},
		{"rows without their last cells", "t,Speed,Pull\n0,100,1\n0.1,200\n0.2,300,3\n", plain, []float64{0, .1, .2}, [][]float64{{100, 200, 300}, {1, none, 3}}, " ", false},
		{"last line without its last cell", "t,Speed,Pull\n0,100,1.5\n0.1,200,2.5\n0.2,30", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", true},
		{"last line that may lack digits", "t,Speed,Pull\n0,100,1.5\n0.1,200,2.5\n0.2,300,2", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", true},
		{"last line whole where it is wanted", "t,Speed,Pull,x\n0,100,1.5,1\n0.1,200,2.5,1", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"the logger started again", "t,Speed,Pull\n0,100,1.5\nt,Speed,Pull\n0,200,2.5\n", plain, []float64{0, 0}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"a column of words", "t,mode,Speed,Pull\n0,armed,100,1.5\n0.1,run,200,2.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"separators at the ends of rows", "t;Speed;Pull;\n0;100;1.5;\n0.1;200;2.5;\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {1.5, 2.5}}, " ", false},
		{"exponents and signs", "t,Speed,Pull\n0,+1e2,-1.5E0\n1e-1,2.0e+2,.5\n", plain, []float64{0, .1}, [][]float64{{100, 200}, {-1.5, .5}}, " ", false},
		{"one row", "t,Speed,Pull\n0,100,1.5\n", plain, []float64{0}, [][]float64{{100}, {1.5}}, " ", false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			path := write(t, "run.csv", test.text)
			l, err := Read(context.Background(), path, test.want)
			if err != nil {
				t.Fatal(err)
			}
			near := []cmp.Option{cmpopts.EquateNaNs(), cmpopts.EquateApprox(0, 1e-9)}
			if diff := cmp.Diff(test.time, l.Time, near...); diff != "" {
				t.Errorf("time (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(test.columns, l.Columns, near...); diff != "" {
				t.Errorf("columns (-want +got):\n%s", diff)
			}
			var units []string
			for _, u := range l.Units {
				units = append(units, u.String())
			}
			if got := strings.Join(units, " "); got != test.units || l.Cut != test.cut {
				t.Errorf("units %q, cut short %v; want %q, %v", got, l.Cut, test.units, test.cut)
			}
			if sum := sha256.Sum256([]byte(test.text)); l.SHA256 != hex.EncodeToString(sum[:]) {
				t.Errorf("SHA-256 is %s", l.SHA256)
			}
		})
	}
}

func packed(t testing.TB, text string) string {
	t.Helper()
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	if _, err := w.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestReadPacked(t *testing.T) {
	t.Parallel()
	text := packed(t, "t,Speed\n0,100\n0.1,200\n")
	l, err := Read(context.Background(), write(t, "run.csv.gz", text), Selection{Time: Time{Header: "t"}, Columns: []Column{{Header: "Speed"}}})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([][]float64{{100, 200}}, l.Columns); diff != "" {
		t.Error(diff)
	}
	if sum := sha256.Sum256([]byte(text)); l.SHA256 != hex.EncodeToString(sum[:]) {
		t.Error("the SHA-256 is not that of the packed file")
	}
}

// A log longer than what is looked at first, and than one piece, is read to its end.
func TestReadLong(t *testing.T) {
	t.Parallel()
	const rows = 100_000
	l, err := Read(context.Background(), write(t, "run.csv", sampleLog(rows)), sampleLayout)
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Time) != rows || len(l.Columns[1]) != rows || math.Abs(l.Time[rows-1]-99.999) > 1e-9 {
		t.Errorf("%d rows to %v s, want %d to 99.999", len(l.Time), l.Time[len(l.Time)-1], rows)
	}
}

func TestReadFaults(t *testing.T) {
	t.Parallel()
	plain := Selection{Time: Time{Header: "t"}, Columns: []Column{{Header: "Pull"}}}
	tests := []struct {
		name, file, text string
		want             Selection
		fault            string
	}{
		{"empty", "a.csv", "", plain, `a\.csv: is empty; was the logger started\?`},
		{"blank lines", "a.csv", "\n\n  \n", plain, `is empty`},
		{"heading only", "a.csv", "t,Pull\n", plain, `no rows of numbers`},
		{"binary", "a.bin", "\x89LOG\x00\x01\x02\x03", plain, `a recorder's or another program's own file; export it as text`},
		{"UTF-16", "a.csv", "\xff\xfet\x00", plain, `is UTF-16 text; save it as UTF-8`},
		{"not packed", "a.csv.gz", "t,Pull\n0,1\n", plain, `named \.gz and is not packed`},
		{"packed and cut short", "a.csv.gz", packed(t, sampleLog(1000))[:500], plain, `ends before its end`},
		{"missing column", "a.csv", "t,Speed,Pul\n0,1,2\n1,2,3\n", plain, `row 1: there is no column "Pull"; did you mean "Pul"\? The log has "t", "Speed", "Pul"`},
		{"heading twice", "a.csv", "t,Pull,Pull\n0,1,2\n1,2,3\n", plain, `the heading "Pull" stands over 2 columns`},
		{"text among numbers", "a.csv", "t,Pull\n0,1\n1,2\n2,OVERLOAD\n3,4\n", plain, `row 4, column 2 "Pull": "OVERLOAD" is not a number`},
		{"decimal marks mixed", "a.csv", "t;Pull\n0;1,5\n1;2,5\n2;3.5\n3;4,5\n", plain, `row 4, column 2 "Pull": "3\.5" has another decimal mark`},
		{"decimal commas between commas", "a.csv", "t,Pull\n0,0,1,5\n0,1,2,5\n", plain, `more cells than the heading has: decimal commas`},
		{"clock not declared", "a.csv", "t;Pull\n10:00:00;1\n10:00:01;2\n", plain, `"t" holds a time of day; write clock = true`},
		{"unit of another kind", "a.csv", "t;Pull [V]\n0;1\n1;2\n", Selection{Time: Time{Header: "t"}, Columns: []Column{{Header: "Pull", Unit: known("N")}}}, `has the column "Pull \[V\]" in V, the plan in N`},
		{"°C for K", "a.csv", "t;Pull [°C]\n0;1\n1;2\n", Selection{Time: Time{Header: "t"}, Columns: []Column{{Header: "Pull", Unit: known("K")}}}, `in °C, the plan in K`},
		{"unit that is no time", "a.csv", "t;Pull\n0;1\n1;2\n", Selection{Time: Time{Header: "t", Unit: known("V")}}, `"V" is no unit of time`},
		{"many faults", "a.csv", "t,Pull\n0,1\n1,a\n2,b\n3,c\n4,d\n5,1\n6,1\n7,1\n8,1\n9,1\n9,1\n9,1\n9,1\n9,1\n9,1\n9,1\n9,1\n9,1\n", plain, `row 5, column 2 "Pull": "c" is not a number[^\n]*$`},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			_, err := Read(context.Background(), write(t, test.file, test.text), test.want)
			matches(t, err, test.fault)
		})
	}
	t.Run("no file", func(t *testing.T) {
		t.Parallel()
		_, err := Read(context.Background(), filepath.Join(t.TempDir(), "a.csv"), plain)
		matches(t, err, `there is no such log`)
	})
	t.Run("folder", func(t *testing.T) {
		t.Parallel()
		_, err := Read(context.Background(), t.TempDir(), plain)
		matches(t, err, `is a folder`)
	})
	t.Run("a line without end", func(t *testing.T) {
		t.Parallel()
		_, err := Read(context.Background(), write(t, "a.csv", "t,Pull\n0,1\n1,2\n"+strings.Repeat("1", 2*lineBytes)), plain)
		matches(t, err, `a line is longer than`)
	})
	t.Run("interrupted", func(t *testing.T) {
		t.Parallel()
		ctx, stop := context.WithCancel(context.Background())
		stop()
		if _, err := Read(ctx, write(t, "a.csv", sampleLog(10)), plain); err != context.Canceled {
			t.Errorf("got %v", err)
		}
	})
}
