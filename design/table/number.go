package table

import (
	"fairrun/design/fault"

	"bytes"
	"fmt"
	"regexp"
	"strings"

	"fairrun/stats/decimal"
)

// numberShape reads text as a number of this package: [sign] digits [mark
// digits] [e [sign] digits], with at least one digit before the exponent. It
// returns the mark it uses: '.', ',' or 0 for none.
func numberShape(text []byte) (mark byte, ok bool) {
	i := 0
	skipSign := func() {
		if i < len(text) && (text[i] == '+' || text[i] == '-') {
			i++
		}
	}
	skipDigits := func() int {
		from := i
		for i < len(text) && '0' <= text[i] && text[i] <= '9' {
			i++
		}
		return i - from
	}
	skipSign()
	digits := skipDigits()
	if i < len(text) && (text[i] == '.' || text[i] == ',') {
		mark = text[i]
		i++
		digits += skipDigits()
	}
	if digits == 0 {
		return 0, false
	}
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		i++
		skipSign()
		if skipDigits() == 0 {
			return 0, false
		}
	}
	return mark, i == len(text)
}

// Number is text, a cell of a file in dialect d, as a number written with a
// decimal point, and its value. Ok is false when it is no number there: a comma
// is a decimal mark only where the separator is none.
func (d Dialect) Number(text string) (point string, value float64, ok bool) {
	mark, ok := numberShape([]byte(text))
	if !ok || mark == ',' && d.resolved().Separator == ',' {
		return "", 0, false
	}
	point = text
	if mark == ',' {
		point = string(bytes.Replace([]byte(text), []byte{','}, []byte{'.'}, 1))
	}
	var column decimal.Column
	if column.Append([]byte(point)) != nil {
		return "", 0, false // beyond the range of a float64
	}
	return point, column.Floats()[0], true
}

// Numbers reads a column as numbers written with a decimal point, "" where a cell
// is empty or NA. Cells that are no numbers, and a second decimal mark in the
// column, are faults; the cell is then given as "".
func (d *Document) Numbers(col int) (points []string, faults fault.List) {
	points = make([]string, d.Rows())
	var first byte // the decimal mark seen first
	firstRow := 0
	for row := range points {
		text := strings.TrimSpace(d.Cell(row, col))
		if text == "" || text == "NA" {
			continue
		}
		point, _, ok := d.Dialect.Number(text)
		if !ok {
			f := d.Place(row, col)
			f.Found, f.Do = d.Dialect.NotNumber(text)
			faults = append(faults, f)
			continue
		}
		mark, _ := numberShape([]byte(text))
		switch {
		case mark == 0 || mark == first:
		case first == 0:
			first, firstRow = mark, d.Place(row, col).Row
		default:
			f := d.Place(row, col)
			f.Found, f.Do = mixedMarks(text, mark, firstRow, first)
			faults = append(faults, f)
			continue
		}
		points[row] = point
	}
	return points, faults
}

// mixedMarks says what is wrong with a number whose decimal mark is not that of
// the first number with one in its column, in row firstRow.
func mixedMarks(text string, mark byte, firstRow int, first byte) (found, do string) {
	found = fmt.Sprintf("%q has a decimal %s, the number in row %d a decimal %s", text, markName(mark), firstRow, markName(first))
	return found, "write one decimal mark throughout the column"
}

func markName(mark byte) string {
	if mark == ',' {
		return "comma"
	}
	return "point"
}

// NotNumber says what is wrong with text in a number's cell of a file in dialect
// d, where Number refuses it.
func (d Dialect) NotNumber(text string) (found, do string) {
	found = fmt.Sprintf("%q is not a number", brief([]byte(text)))
	mark, ok := numberShape([]byte(text))
	switch {
	case ok && mark == ',':
		do = "write it with a decimal point, since commas separate the cells"
	case ok:
		found = fmt.Sprintf("%q is too large, too small or too long for a number", brief([]byte(text)))
		do = "write an ordinary number, or leave the cell empty"
	case grouped.MatchString(text):
		do = "write its digits without separators between the thousands"
	case numberWithUnit(text):
		do = "write the number alone: a unit belongs in the plan or the heading"
	default:
		do = "write a number, or leave the cell empty if there is none"
	}
	return found, do
}

// grouped is a number with something between its thousands.
var grouped = regexp.MustCompile(`^[+-]?[0-9]{1,3}([,.' _’\x{A0}\x{202F}\x{2009}][0-9]{3})+([.,][0-9]+)?$`)

// numberWithUnit reports whether text starts with a number.
func numberWithUnit(text string) bool {
	end := strings.IndexFunc(text, func(r rune) bool { return !strings.ContainsRune("+-.,0123456789", r) })
	if end <= 0 {
		return false
	}
	_, ok := numberShape([]byte(text[:end]))
	return ok
}
