package render

import (
	"math"
	"strings"
	"unicode/utf8"

	"fairrun/stats/verdict"
)

// Columns of a strip.
const (
	leastStrip = 15
	mostStrip  = 41
)

// Interval is what a strip shows of one comparison. An end may be open.
type Interval struct{ Low, Value, High verdict.Number }

// Strips are pictures of intervals below each other, on one scale with zero and the margin. They need no colour: the point
// is filled where the interval is clear of zero, the line is thick beyond the margin.
type Strips struct {
	Margin float64 // on the scale of the intervals; NaN where none is stated
	Below  string  // what the margin is called on either side
	Above  string
	Rows   []Interval
}

// marks are the characters of a strip.
type marks struct{ thick, thin, zero, crossed, margin, filled, ring string }

// In nearly every font and distinct by shape.
var (
	drawnMarks = marks{"═", "─", "│", "┼", ":", "●", "○"}
	plainMarks = marks{"=", "-", "|", "+", ":", "#", "o"}
)

// strip places intervals in a number of columns.
type strip struct {
	marks
	width     int
	least     float64 // of the scale
	perColumn float64
	zero      int
	margins   []int   // left and right of zero; nil without a margin
	margin    float64 // 0 without one
}

// draw returns the heading of the column and a text a row.
func (s Strips) draw(width int, m marks) (head string, rows []string) {
	p := s.place(width, m)
	head = p.heading(s.Below, s.Above)
	for _, r := range s.Rows {
		rows = append(rows, p.row(r))
	}
	return head, rows
}

// place finds the scale: all intervals, zero and the margin, with two free columns or more beyond the margin and
// one or more within it, on either side.
func (s Strips) place(width int, m marks) strip {
	low, high := 0.0, 0.0
	if s.Margin > 0 {
		low, high = -s.Margin, s.Margin
	}
	for _, r := range s.Rows {
		for _, n := range []verdict.Number{r.Low, r.Value, r.High} {
			if n.Known() {
				low, high = min(low, float64(n)), max(high, float64(n))
			}
		}
	}
	if low == high {
		low, high = -1, 1
	}
	p := strip{marks: m, width: width, margin: max(0, s.Margin)}
	p.least, p.perColumn = low, (high-low)/float64(width-1)
	if !(s.Margin > 0) {
		p.margin = 0
		p.zero = min(width-2, max(1, p.column(0)))
		return p
	}
	p.zero = min(width-5, max(4, p.column(0)))
	half := max(2, int(math.Round(s.Margin/p.perColumn)))
	p.margins = []int{max(2, p.zero-half), min(width-3, p.zero+half)}
	return p
}

// column is where a value lies on the plain scale.
func (p strip) column(v float64) int { return int(math.Round((v - p.least) / p.perColumn)) }

// at is the column of a value: never on the zero or a margin that it does not reach, nor on this side of one that it has passed.
func (p strip) at(v float64) int {
	c := min(p.width-1, max(0, p.column(v)))
	keep := func(landmark float64, column int) {
		switch {
		case v > landmark:
			c = max(c, column+1)
		case v < landmark:
			c = min(c, column-1)
		default:
			c = column
		}
	}
	if p.margins != nil { // the outer ones first: those nearer to zero then have the last word only on their side
		keep(-p.margin, p.margins[0])
		keep(p.margin, p.margins[1])
	}
	keep(0, p.zero)
	return min(p.width-1, max(0, c))
}

// row draws one interval; where nothing is known of it, zero and the margin alone.
func (p strip) row(r Interval) string {
	cells := make([]string, p.width)
	for i := range cells {
		cells[i] = " "
	}
	for _, c := range p.margins {
		cells[c] = p.marks.margin
	}
	cells[p.zero] = p.marks.zero
	if !r.Value.Known() || !r.Low.Known() && !r.High.Known() {
		return strings.TrimRight(strings.Join(cells, ""), " ")
	}
	from, to := 0, p.width-1 // an open end runs to the edge
	clear := false
	if r.Low.Known() {
		from, clear = p.at(float64(r.Low)), r.Low > 0
	}
	if r.High.Known() {
		to, clear = p.at(float64(r.High)), clear || r.High < 0
	}
	low, high := float64(r.Low), float64(r.High)
	within, beyond := p.reaches(low, high)
	thick := func(c int) bool {
		return p.margins != nil && (c < p.margins[0] || c > p.margins[1] || !within)
	}
	at := min(to, max(from, p.at(float64(r.Value))))
	if within && beyond { // each part is to be seen beside the point
		switch far := thick(to); {
		case from == to-1 && far && to < p.width-1:
			to++
			at = to - 1
		case from == to-1 && !far && from > 0:
			from--
			at = from + 1
		}
		switch {
		case thick(at) && !thick(at-1) && at == to:
			at--
		case thick(at) && !thick(at+1) && at == from:
			at++
		case !thick(at) && thick(at+1) && at == from:
			at++
		case !thick(at) && thick(at-1) && at == to:
			at--
		}
	}
	for c := from; c <= to; c++ {
		switch {
		case c == p.zero:
			cells[c] = p.crossed
		case thick(c):
			cells[c] = p.thick
		default:
			cells[c] = p.thin
		}
	}
	cells[at] = p.ring
	if clear {
		cells[at] = p.filled
	}
	return strings.TrimRight(strings.Join(cells, ""), " ")
}

// reaches says whether an interval, which may be open, has a part within the margin and one beyond it.
func (p strip) reaches(low, high float64) (within, beyond bool) {
	if math.IsNaN(low) {
		low = math.Inf(-1)
	}
	if math.IsNaN(high) {
		high = math.Inf(1)
	}
	return low < p.margin && high > -p.margin, low < -p.margin || high > p.margin
}

// heading names zero and, where there is room, the margin.
func (p strip) heading(below, above string) string {
	cells := []rune(strings.Repeat(" ", p.width))
	put := func(text string, middle int) {
		n := utf8.RuneCountInString(text)
		from := min(p.width-n, max(0, middle-n/2))
		if from < 0 {
			return
		}
		for i := max(0, from-1); i < min(p.width, from+n+1); i++ {
			if cells[i] != ' ' {
				return
			}
		}
		copy(cells[from:], []rune(text))
	}
	put("0", p.zero)
	if p.margins != nil {
		put(above, p.margins[1])
		put(below, p.margins[0])
	}
	return strings.TrimRight(string(cells), " ")
}
