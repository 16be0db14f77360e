package log

import (
	"bytes"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"fairrun/design/unit"
)

// shape is how a log is written.
type shape struct {
	mark      int    // bytes of a byte order mark
	end       byte   // that ends a line: '\n', or '\r' in files of old
	separator byte   // between cells; ' ' stands for any number of blanks and tabs
	decimal   byte   // '.' or ','; 0 where the start of the log has neither
	heading   int    // line of the heading, from 1; 0: there is none
	headline  []byte // that line
	first     int    // line of the first row; 0: there is none
	columns   []heading
	rowBytes  int // of a row, on average
}

// heading is what a log says of one column.
type heading struct {
	text   string // as it stands, without quotes; "column 3" where there is none
	name   string // without the unit in it
	unit   string // in the heading or below it; ""
	number bool   // its cells are numbers
	clock  bool   // its cells are times of day
}

const sampleLines = 60 // of the start of a log that say how it is written

// dialects are the separators and decimal marks that are tried, the first of equals wins.
var dialects = []struct{ separator, decimal byte }{
	{'\t', '.'}, {'\t', ','}, {';', '.'}, {';', ','}, {',', '.'}, {'|', '.'}, {'|', ','}, {' ', '.'}, {' ', ','},
}

// shapeOf finds out how a log is written from its start. whole says that the start is all of it.
func shapeOf(name string, head []byte, whole bool) (*shape, error) {
	if err := refuseBinary(name, head); err != nil {
		return nil, err
	}
	s := &shape{end: '\n'}
	if bytes.HasPrefix(head, []byte("\xef\xbb\xbf")) {
		s.mark = 3
	}
	text := head[s.mark:]
	if bytes.IndexByte(text, '\n') < 0 && bytes.IndexByte(text, '\r') >= 0 {
		s.end = '\r'
	}
	lines := bytes.Split(text, []byte{s.end})
	if last := len(lines) - 1; last > 0 && (!whole || len(lines[last]) == 0) {
		lines = lines[:last] // it may be cut short
	}
	if len(bytes.TrimSpace(text)) == 0 {
		return nil, wrong(name, 0, "is empty", "was the logger started?")
	}
	for i := range lines {
		lines[i] = bytes.TrimSuffix(lines[i], []byte{'\r'})
	}
	s.choose(lines)
	if !s.findRows(lines) {
		return nil, wrong(name, 0, "no rows of numbers were found", "is it a log? It needs a heading and rows whose cells a tab, semicolon, comma, bar or blanks separate")
	}
	if err := s.findHeading(name, lines); err != nil {
		return nil, err
	}
	return s, nil
}

// refuseBinary refuses what is no text of one byte a character.
func refuseBinary(name string, head []byte) error {
	if bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff")) {
		return wrong(name, 0, "is UTF-16 text", "save it as UTF-8")
	}
	odd := 0
	for _, c := range head {
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' {
			odd++
		}
	}
	if bytes.IndexByte(head, 0) >= 0 || odd > len(head)/20 {
		return wrong(name, 0, "is not text but a recorder's or another program's own file", "export it as text (CSV) with that program, and name the text")
	}
	return nil
}

// sampled are the lines that say how a log is written: the last of its start, which are rows if
// anything is.
func sampled(lines [][]byte) [][]byte {
	var sample [][]byte
	for i := len(lines) - 1; i >= 0 && len(sample) < sampleLines; i-- {
		if len(bytes.TrimSpace(lines[i])) > 0 && lines[i][0] != '#' {
			sample = append(sample, lines[i])
		}
	}
	return sample
}

// choose takes the separator and decimal mark with which most cells are numbers.
func (s *shape) choose(lines [][]byte) {
	best := -1
	var cells [][]byte
	for _, d := range dialects {
		score := 0
		for _, line := range sampled(lines) {
			numbers, others := 0, 0
			cells = split(line, d.separator, cells[:0])
			for _, cell := range cells {
				switch kindOf(cell, d.decimal) {
				case isNumber, isClock:
					numbers++
				case isText:
					others++
				}
			}
			score += max(0, numbers-others)
		}
		if score > best {
			best, s.separator, s.decimal = score, d.separator, d.decimal
		}
	}
	if s.separator == ',' {
		return
	}
	s.decimal = 0 // it is known once a row has one
	for _, line := range sampled(lines) {
		for _, cell := range split(line, s.separator, cells[:0]) {
			if _, mark, ok := number(cell); ok && mark != 0 {
				s.decimal = mark
				return
			}
		}
	}
}

type kind int

const (
	isAbsent kind = iota
	isNumber
	isClock
	isText
)

// kindOf says what a cell holds, where decimal is the decimal mark.
func kindOf(cell []byte, decimal byte) kind {
	if absent(cell) {
		return isAbsent
	}
	if _, mark, ok := number(cell); ok && (mark == 0 || decimal == 0 || mark == decimal) {
		return isNumber
	}
	if _, _, _, ok := clock(cell); ok {
		return isClock
	}
	return isText
}

// split appends the cells of a line.
func split(line []byte, separator byte, cells [][]byte) [][]byte {
	if separator == ' ' {
		return append(cells, bytes.Fields(line)...)
	}
	for {
		end := bytes.IndexByte(line, separator)
		if start := bytes.TrimLeft(line, " "); len(start) > 0 && start[0] == '"' {
			skipped := len(line) - len(start) + 1
			if i := bytes.IndexByte(line[skipped:], '"'); i >= 0 {
				end = bytes.IndexByte(line[skipped+i:], separator)
				if end >= 0 {
					end += skipped + i
				}
			}
		}
		if end < 0 {
			return append(cells, trim(line))
		}
		cells = append(cells, trim(line[:end]))
		line = line[end+1:]
	}
}

// findRows finds the columns that hold numbers and the first line that is a row.
func (s *shape) findRows(lines [][]byte) bool {
	count := map[int]int{}
	width := 0
	var rows [][]byte
	for _, line := range sampled(lines) {
		cells := split(line, s.separator, nil)
		numbers, texts := 0, 0
		for _, cell := range cells {
			switch kindOf(cell, s.decimal) {
			case isNumber, isClock:
				numbers++
			case isText:
				texts++
			}
		}
		if texts > numbers && len(rows) > 0 {
			break // what stands above the rows
		}
		if numbers == 0 {
			continue
		}
		rows = append(rows, line)
		if count[len(cells)]++; count[len(cells)] > count[width] || count[len(cells)] == count[width] && len(cells) > width {
			width = len(cells)
		}
	}
	if width == 0 {
		return false
	}
	s.columns = make([]heading, width)
	bytesInRows, wide := 0, 0
	numbers, clocks, texts := make([]int, width), make([]int, width), make([]int, width)
	for _, line := range rows {
		cells := split(line, s.separator, nil)
		if len(cells) != width {
			continue
		}
		bytesInRows, wide = bytesInRows+len(line)+1, wide+1
		for c, cell := range cells {
			switch kindOf(cell, s.decimal) {
			case isNumber:
				numbers[c]++
			case isClock:
				clocks[c]++
			case isText:
				texts[c]++
			}
		}
	}
	s.rowBytes = max(1, bytesInRows/wide)
	for c := range s.columns {
		s.columns[c].clock = clocks[c] > max(numbers[c], 4*texts[c])
		s.columns[c].number = !s.columns[c].clock && numbers[c] > 0 && numbers[c] >= 4*texts[c]
	}
	for i, line := range lines {
		if s.isRow(line) && (i+1 == len(lines) || i+2 == len(lines) || s.isRow(lines[i+1]) || s.isRow(lines[i+2])) {
			s.first = i + 1
			return true
		}
	}
	return false
}

// isRow reports whether a line has the cells of a row, and at least one number among them.
func (s *shape) isRow(line []byte) bool {
	cells := split(line, s.separator, nil)
	if len(cells) > len(s.columns)+1 || len(cells) < (len(s.columns)+1)/2 {
		return false
	}
	numbers := 0
	for c, cell := range cells[:min(len(cells), len(s.columns))] {
		k := kindOf(cell, s.decimal)
		if h := s.columns[c]; h.number && k == isText || h.clock && k != isClock && k != isAbsent {
			return false
		} else if k == isNumber || k == isClock {
			numbers++
		}
	}
	return numbers > 0
}

// findHeading finds the heading and the units above the first row.
func (s *shape) findHeading(name string, lines [][]byte) error {
	width := len(s.columns)
	var found [][]string // the nearest line first
	var at []int
	odd := 0 // cells of the nearest line that is no heading
	for i := s.first - 2; i >= 0 && len(found) < 2; i-- {
		line := uncommented(lines[i])
		if len(line) == 0 {
			if len(found) > 0 {
				break
			}
			continue
		}
		cells := split(line, s.separator, nil)
		for len(cells) > width && len(cells[len(cells)-1]) == 0 {
			cells = cells[:len(cells)-1]
		}
		if len(cells) > width || len(cells) < width-1 || len(cells) == 1 && width > 1 {
			if odd == 0 && len(found) == 0 {
				odd = len(cells)
			}
			if len(found) > 0 {
				break
			}
			continue
		}
		texts := make([]string, width)
		for c, cell := range cells {
			texts[c] = readable(cell)
		}
		found, at = append(found, texts), append(at, i+1)
	}
	if len(found) == 0 && s.separator == ',' && odd > 1 && width > odd {
		return wrong(name, s.first, "there are more cells than the heading has: decimal commas, it seems, in a file whose cells commas separate",
			"export it again with decimal points, or with semicolons between the cells")
	}
	var headings, units []string
	switch {
	case len(found) == 2 && areUnits(found[0]) && !areUnits(found[1]):
		headings, units, s.heading = found[1], found[0], at[1]
	case len(found) > 0:
		headings, s.heading = found[0], at[0]
	}
	if s.heading > 0 {
		s.headline = bytes.Clone(lines[s.heading-1])
	}
	for c := range s.columns {
		h := &s.columns[c]
		if headings != nil {
			h.text = headings[c]
		}
		if h.text == "" {
			h.text = "column " + itoa(c+1)
		}
		h.name, h.unit = parted(h.text)
		if units != nil && units[c] != "" {
			h.unit = bare(units[c])
		}
	}
	return nil
}

// uncommented takes the mark of a comment, and blanks, off a line.
func uncommented(line []byte) []byte {
	line = bytes.TrimSpace(line)
	for _, mark := range []string{"#", "//", "%", "\"#"} {
		if bytes.HasPrefix(line, []byte(mark)) && len(line) > len(mark) {
			return bytes.TrimLeft(line[len(mark):], "# \t")
		}
	}
	return line
}

// areUnits reports whether all cells of a line are units, with or without brackets.
func areUnits(cells []string) bool {
	some := false
	for _, text := range cells {
		if text == "" {
			continue
		}
		if !unit.Known(bare(text)) {
			return false
		}
		some = true
	}
	return some
}

// bare takes brackets off a unit.
func bare(text string) string {
	if n := len(text); n > 2 && (text[0] == '[' && text[n-1] == ']' || text[0] == '(' && text[n-1] == ')') {
		return strings.TrimSpace(text[1 : n-1])
	}
	return text
}

var withUnit = regexp.MustCompile(`^(.*\S)\s*(?:\[([^\]]*)\]|\(([^)]*)\)|\s/\s*(\S+)|/(\S+)|\sin\s+(\S+)|,\s*(\S+))$`)

// parted splits "Speed [rpm]" into a name and a unit that is known.
func parted(text string) (name, of string) {
	m := withUnit.FindStringSubmatch(text)
	if m == nil {
		return text, ""
	}
	of = strings.TrimSpace(strings.Join(m[2:], ""))
	if of == "" || !unit.Known(of) {
		return text, ""
	}
	return m[1], of
}

// readable returns a cell as text; what is not UTF-8 is taken for Latin-1.
func readable(cell []byte) string {
	text := string(cell)
	if !utf8.Valid(cell) {
		runes := make([]rune, len(cell))
		for i, c := range cell {
			runes[i] = rune(c)
		}
		text = string(runes)
	}
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, text)
}
