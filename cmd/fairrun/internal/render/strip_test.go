package render

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fairrun/stats/compare"
	"fairrun/stats/verdict"
)

// TestStripSaysTheWord draws random intervals: what is drawn must give the same word as the interval does, at any width.
func TestStripSaysTheWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		margin := rapid.SampledFrom([]float64{0.001, 0.02, 1, 15, 400}).Draw(t, "margin")
		width := rapid.IntRange(leastStrip, mostStrip).Draw(t, "width")
		s := Strips{Margin: margin, Below: "-m", Above: "+m"}
		n := rapid.IntRange(1, 6).Draw(t, "rows")
		for range n {
			low := rapid.Float64Range(-5, 5).Draw(t, "low") * rapid.SampledFrom([]float64{margin, 30, 0.01}).Draw(t, "scale")
			long := rapid.Float64Range(0.001, 5).Draw(t, "length") * margin
			s.Rows = append(s.Rows, Interval{verdict.Number(low), verdict.Number(low + long/2), verdict.Number(low + long)})
		}
		head, rows := s.draw(width, plainMarks)
		if len([]rune(head)) > width {
			t.Fatalf("heading %q is longer than %d", head, width)
		}
		for i, row := range rows {
			if len(row) > width {
				t.Fatalf("row %q is longer than %d", row, width)
			}
			want := compare.Judge(float64(s.Rows[i].Low), float64(s.Rows[i].High), margin)
			if got := wordOf(row); got != want {
				t.Fatalf("%v with margin %v is drawn as %q, which says %s; want %s", s.Rows[i], margin, row, got, want)
			}
		}
	})
}

// wordOf reads a strip of ASCII as a person would.
func wordOf(row string) compare.Word {
	filled := strings.Contains(row, "#")
	thick := strings.Contains(row, "=")
	thin := strings.ContainsAny(row, "-+")
	point := strings.IndexAny(row, "#o")
	switch { // the point hides one column of the line
	case filled && !thick && !thin:
		marks := strings.Index(row, ":") < point && point < strings.LastIndex(row, ":")
		if marks {
			return compare.Trivial
		}
		return compare.Matters
	case filled && thick && thin:
		return compare.Real
	case filled && thick:
		return compare.Matters
	case filled:
		return compare.Trivial
	case thick:
		return compare.Unresolved
	}
	return compare.Equal
}

// TestStrip draws the intervals of the demonstration by hand.
func TestStrip(t *testing.T) {
	s := Strips{Margin: 2, Below: "-2", Above: "+2", Rows: []Interval{
		{-6, -5, -3}, {-3, -1.5, -0.1}, {-1, 0, 1.5}, {-1, 1, 3}, {0.2, 0.5, 1}, {verdict.Unknown, verdict.Unknown, verdict.Unknown}, {1, 2.5, verdict.Unknown},
	}}
	head, rows := s.draw(19, drawnMarks)
	want := []string{
		"       -2   0  +2",
		"══●════ :   │   :",
		"      ══─●──│   :",
		"        : ──○───:",
		"        : ──┼─○──══",
		"        :   │●─ :",
		"        :   │   :",
		"        :   │ ───●═",
	}
	if diff := cmp.Diff(want, append([]string{head}, rows...)); diff != "" {
		t.Errorf("(-by hand +drawn):\n%s", diff)
	}
}
