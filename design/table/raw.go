package table

import (
	"strings"
	"unicode"
)

// split cuts the bytes of a cell into the blanks before it, the cell, quotes
// included, and the blanks after it.
func split(raw string) (before, core, after string) {
	core = strings.TrimLeft(raw, " \t")
	before = raw[:len(raw)-len(core)]
	if strings.HasPrefix(core, `"`) {
		end := 2 + closingQuote([]byte(core[1:]))
		return before, core[:end], core[end:]
	}
	core = strings.TrimRight(core, " \t")
	return before, core, raw[len(before)+len(core):]
}

// decode is the text of a cell.
func decode(core string) string {
	if !strings.HasPrefix(core, `"`) {
		return strings.TrimFunc(core, unicode.IsSpace)
	}
	return strings.ReplaceAll(core[1:len(core)-1], `""`, `"`)
}

// encode is the cell that reads as text: in quotes if it could not be distinguished from
// its surroundings without.
func encode(text, separators string) string {
	if strings.ContainsAny(text, separators+"\"\r\n") || strings.TrimFunc(text, unicode.IsSpace) != text {
		return quote(text)
	}
	return text
}

// quote puts text in quotes.
func quote(text string) string {
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

// decimalMark is the mark that most of the numbers in columns [from, to) use, ','
// or '.'; 0 where none has one. A whole file separated by semicolons takes a comma
// for granted: programs write semicolons because the comma is the decimal mark.
func (d *Document) decimalMark(from, to int) byte {
	if d.Dialect.Separator == ',' {
		return '.'
	}
	var points, commas int
	for row := range d.rows {
		for col := from; col < to; col++ {
			mark, ok := numberShape([]byte(d.Cell(row, col)))
			switch {
			case ok && mark == '.':
				points++
			case ok && mark == ',':
				commas++
			}
		}
	}
	switch {
	case commas > points, commas == points && d.Dialect.Separator == ';' && to-from == len(d.Header):
		return ','
	case points > 0:
		return '.'
	}
	return 0
}
