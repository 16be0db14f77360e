package accuracy

import (
	"strings"
	"testing"
)

// measured is a section with one line, right to three digits at two points.
func measured() *Section {
	s := &Section{Package: "stats/example"}
	l := s.Line("mean", "everywhere", "exact arithmetic")
	l.Add(1.001, 1)
	l.Add(0, 0)
	return s
}

func pageWith(table string) string {
	s := measured()
	return "# Accuracy\n" + s.opening() + head + table + s.closing() + "the end\n"
}

func TestFaults(t *testing.T) {
	const right = "| mean | everywhere | 2 | 3 | exact arithmetic |\n"
	for _, c := range []struct {
		name, page, want string
	}{
		{"right", pageWith(right), ""},
		{"less claimed than reached", pageWith(strings.Replace(right, "| 3 |", "| 2.5 |", 1)), ""},
		{"within the slack", pageWith(strings.Replace(right, "| 3 |", "| 3.25 |", 1)), ""},
		{"too much claimed", pageWith(strings.Replace(right, "| 3 |", "| 3.5 |", 1)), "only 3.00 digits are reached"},
		{"no number", pageWith(strings.Replace(right, "| 3 |", "| many |", 1)), "only 3.00 digits are reached"},
		{"fewer points", pageWith(strings.Replace(right, "| 2 |", "| 9 |", 1)), "should be | mean | everywhere | 2 |"},
		{"another reference", pageWith(strings.Replace(right, "exact", "inexact", 1)), "should be"},
		{"missing", pageWith(""), "a line is missing: | mean"},
		{"no longer measured", pageWith(right + "| sd | everywhere | 2 | 3 | R |\n"), "no longer measured: | sd"},
		{"no section", "# Accuracy\n", "not there"},
		{"written on Windows", strings.ReplaceAll(pageWith(right), "\n", "\r\n"), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := strings.Join(measured().faults(c.page), "\n")
			if c.want == "" && got != "" || !strings.Contains(got, c.want) {
				t.Errorf("faults = %q, want %q", got, c.want)
			}
		})
	}
}

func TestCutKeepsTheRest(t *testing.T) {
	s := measured()
	before, table, after, ok := s.cut(pageWith("old\n"))
	if !ok || table != head+"old\n" || before+table+after != pageWith("old\n") {
		t.Errorf("cut = %q, %q, %q, %v", before, table, after, ok)
	}
}

func TestDigits(t *testing.T) {
	for _, c := range []struct{ err, want float64 }{
		{0, 15}, {1e-17, 15}, {0.9e-12, 12}, {2e-12, 11.5}, {4e-12, 11}, {1, 0},
	} {
		l := &Line{err: c.err}
		if got := l.claimed(); got != c.want {
			t.Errorf("digits of error %g = %v, want %v", c.err, got, c.want)
		}
	}
}
