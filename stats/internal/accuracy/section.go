// Package accuracy keeps docs/accuracy.md true. A package's test measures how
// far its numbers lie from their references, one [Line] a quantity, and compares
// the result with its own section of the page: the test fails when the page
// claims a line that is no longer measured, lacks one that is, or claims more
// digits than are reached.
//
//	UPDATE_ACCURACY=1 go test ./stats/... -run Accuracy
//
// writes the sections again.
//
// Digits are −log10 of the largest relative error over all points of a line,
// rounded down to half a digit and never more than 15. A platform that rounds a
// little differently (fused multiply-add) is allowed 0.3 digits less than the
// page says.
//
// Read section.go first, then page.go.
package accuracy

import (
	"fmt"
	"math"
	"strings"
)

// Section is the part of the page that one package answers for.
type Section struct {
	Package string // such as "stats/law"; marks the section on the page
	lines   []*Line
}

// Line is one quantity with the reference it is compared with.
type Line struct {
	Quantity  string
	Where     string // the cases it was measured on
	Reference string // where the expected values come from

	points int
	err    float64 // the largest relative error
}

// Line returns the line of that quantity, made when there is none yet. Lines
// stand on the page in the order in which they were made.
func (s *Section) Line(quantity, where, reference string) *Line {
	for _, l := range s.lines {
		if l.Quantity == quantity && l.Where == where {
			return l
		}
	}
	l := &Line{Quantity: quantity, Where: where, Reference: reference}
	s.lines = append(s.lines, l)
	return l
}

// Add measures got against want in proportion to want; where want is 0 so must
// got be. It returns the error.
func (l *Line) Add(got, want float64) float64 {
	if got == want {
		return l.AddError(0)
	}
	return l.AddError(math.Abs(got-want) / math.Abs(want))
}

// AddIn measures got against want in proportion to unit, for a quantity such as a limit
// that may be as small as you like beside its standard error.
func (l *Line) AddIn(got, want, unit float64) float64 {
	if got == want {
		return l.AddError(0)
	}
	return l.AddError(math.Abs(got-want) / math.Abs(unit))
}

// AddError counts a point with a relative error that the caller measured.
func (l *Line) AddError(e float64) float64 {
	if math.IsNaN(e) {
		e = math.Inf(1)
	}
	l.points++
	l.err = max(l.err, e)
	return e
}

// AddMany counts points whose largest relative error the caller knows.
func (l *Line) AddMany(points int, worst float64) {
	l.points += points
	l.err = max(l.err, worst)
}

// most is the most digits that a double is given credit for.
const most = 15

// reached is the number of digits that hold at every point.
func (l *Line) reached() float64 {
	return min(most, -math.Log10(l.err))
}

// claimed rounds the digits down to what is said of them.
func (l *Line) claimed() float64 {
	return math.Floor(2*l.reached()) / 2
}

// row is the line as it stands in the page's table.
func (l *Line) row() string {
	return fmt.Sprintf("| %s | %s | %d | %g | %s |", l.Quantity, l.Where, l.points, l.claimed(), l.Reference)
}

const head = "| quantity | where | points | digits | compared with |\n|---|---|---|---|---|\n"

// table is the section's body.
func (s *Section) table() string {
	var b strings.Builder
	b.WriteString(head)
	for _, l := range s.lines {
		b.WriteString(l.row())
		b.WriteByte('\n')
	}
	return b.String()
}
