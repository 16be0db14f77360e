package table

import (
	"fairrun/design/fault"

	"bytes"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"

	"fairrun/stats/decimal"
	"fairrun/stats/words"
)

// Wanted names the columns that ReadColumns keeps, by their headings. One column
// may be wanted both ways.
type Wanted struct {
	Categorical []string
	Numeric     []string
	Optional    []string // categorical columns that a table need not have
}

// Columns is what ReadColumns kept of a table. Rows count from 0 and leave out the
// header and blank rows.
type Columns struct {
	Header      []string
	Rows        int
	Categorical []Category  // as wanted
	Numeric     []Number    // as wanted
	Optional    []*Category // as wanted; nil where there is no such column

	first int   // number in the file of the first row
	skips []int // rows before which blank rows stand, once for each of these
}

// Category is a categorical column. An empty cell and an unquoted NA are missing;
// the text of a level is that of the file without the space around it.
type Category struct {
	Name    string
	Levels  []string // in the order of [Dialect.SortLevels], which the order of the rows does not touch
	Code    []int32  // of each row: index into Levels, -1 where missing
	Missing int      // how many are
}

// Number is a numeric column. An empty cell and an unquoted NA are missing.
type Number struct {
	Name    string
	Values  decimal.Column
	Missing int // how many are
}

// FileRow is the number in the file, as in [fault.Fault], of a row.
func (c *Columns) FileRow(row int) int {
	blanks := sort.SearchInts(c.skips, row+1)
	return c.first + row + blanks
}

// ReadColumns reads the wanted columns of a table from r, whose name in messages
// is file, in one pass. Time is linear in the bytes read; memory is that of the
// wanted columns and one row, whatever else the file holds.
//
// Beside the faults of a table (see the package comment) these are faults: a
// wanted column that is not there (unless it is optional), a row with fewer or more cells than the header,
// a number's cell with text in it, points and commas as decimal marks in one
// column, and a level that is the same number as another, written differently (0
// and 0.0: two levels or one?). They come as [fault.List]; an error of r as it is.
func ReadColumns(file string, r io.Reader, w Wanted) (*Columns, error) {
	return readColumns(newScanner(file, r, make([]byte, 0, bufferSize)), w)
}

// readColumns is ReadColumns from a new scanner.
func readColumns(s *scanner, w Wanted) (*Columns, error) {
	c := &Columns{}
	for s.next() {
		if !s.blank() {
			c.Header = s.header()
			break
		}
	}
	in := newIntake(s, w)
	for s.next() {
		if s.blank() {
			c.skips = append(c.skips, c.Rows)
			continue
		}
		if c.first == 0 {
			c.first = s.row
			c.skips = nil
		}
		c.Rows++
		if len(s.cells) != len(s.names) {
			s.faultHere(s.wrongWidth())
			continue
		}
		in.takeRow()
	}
	in.finish(c)
	err := s.finish()
	if err != nil {
		return nil, err
	}
	return c, nil
}

// intake gathers the wanted columns row by row.
type intake struct {
	s           *scanner
	categorical []categoryIntake
	numeric     []numberIntake
	optional    []*categoryIntake // nil where there is no such column
	scratch     []byte
}

type categoryIntake struct {
	Category
	column int
	code   map[string]int32 // by text: index into Levels, in the order of appearance
	row    []int            // of each level: the row of its first appearance
	last   int32            // code of the row before, the likeliest for this one
}

type numberIntake struct {
	Number
	column int
	mark   byte // the decimal mark seen first
	row    int  // where
	mixed  bool // the other was seen too, and noted
}

// newIntake finds the wanted columns in the header; those that are not there are
// noted.
func newIntake(s *scanner, w Wanted) *intake {
	in := &intake{s: s}
	if s.names == nil {
		return in
	}
	find := func(name string) (int, bool) {
		k := slices.Index(s.names, name)
		if k >= 0 && name != "" {
			return k, true
		}
		f := fault.Fault{Found: fmt.Sprintf("there is no column %q", name), Do: "the columns are " + strings.Join(words.Quoted(s.names), ", ")}
		if near := words.Nearest(name, s.names); near != "" {
			f.Do = fmt.Sprintf("did you mean %q? The columns are %s", near, strings.Join(words.Quoted(s.names), ", "))
		}
		s.fault(f)
		return 0, false
	}
	for _, name := range w.Categorical {
		k, ok := find(name)
		if ok {
			in.categorical = append(in.categorical, newCategoryIntake(name, k))
		}
	}
	for _, name := range w.Optional {
		in.optional = append(in.optional, nil)
		if k := slices.Index(s.names, name); k >= 0 {
			c := newCategoryIntake(name, k)
			in.optional[len(in.optional)-1] = &c
		}
	}
	for _, name := range w.Numeric {
		k, ok := find(name)
		if ok {
			in.numeric = append(in.numeric, numberIntake{Number: Number{Name: name}, column: k})
		}
	}
	return in
}

func newCategoryIntake(name string, column int) categoryIntake {
	return categoryIntake{Category: Category{Name: name}, column: column, code: map[string]int32{}, last: -1}
}

// takeRow takes the wanted cells of the row given out last.
func (in *intake) takeRow() {
	s := in.s
	for i := range in.categorical {
		in.takeCategory(&in.categorical[i])
	}
	for _, c := range in.optional {
		if c != nil {
			in.takeCategory(c)
		}
	}
	for i := range in.numeric {
		n := &in.numeric[i]
		text, missing := in.cell(n.column)
		if missing {
			n.Values.AppendMissing()
			n.Missing++
			continue
		}
		if s.dialect.Separator != ',' {
			text = in.toPoint(n, text)
		}
		err := n.Values.Append(text)
		if err != nil {
			n.Values.AppendMissing()
			text, _ = in.cell(n.column)
			found, do := s.dialect.NotNumber(string(text))
			s.faultHere(fault.Fault{Column: n.column + 1, Found: found, Do: do})
		}
	}
}

// takeCategory takes the cell of a categorical column.
func (in *intake) takeCategory(c *categoryIntake) {
	text, missing := in.cell(c.column)
	if missing {
		c.Code = append(c.Code, -1)
		c.Missing++
		return
	}
	c.Code = append(c.Code, c.level(text, in.s.row))
}

// cell is the trimmed text of a cell of the row given out last, and whether it is
// missing: empty, or NA without quotes, as R writes it.
func (in *intake) cell(column int) (text []byte, missing bool) {
	c := in.s.cells[column]
	text = c.text(in.s.record, &in.scratch)
	if c.quoted {
		text = bytes.TrimSpace(text)
	}
	return text, len(text) == 0 || !c.quoted && string(text) == "NA"
}

// level is the code of the level with that text.
func (c *categoryIntake) level(text []byte, row int) int32 {
	if c.last >= 0 && string(text) == c.Levels[c.last] {
		return c.last
	}
	code, ok := c.code[string(text)]
	if !ok {
		code = int32(len(c.Levels))
		level := string(text)
		c.Levels = append(c.Levels, level)
		c.code[level] = code
		c.row = append(c.row, row)
	}
	c.last = code
	return code
}

// toPoint is text with a decimal point for its comma. It notes a column that uses
// both.
func (in *intake) toPoint(n *numberIntake, text []byte) []byte {
	mark, ok := numberShape(text)
	if !ok || mark == 0 {
		return text
	}
	switch {
	case n.mark == 0:
		n.mark, n.row = mark, in.s.row
	case n.mark != mark && !n.mixed:
		n.mixed = true
		found, do := mixedMarks(string(text), mark, n.row, n.mark)
		in.s.faultHere(fault.Fault{Column: n.column + 1, Found: found, Do: do})
	}
	if mark == '.' {
		return text
	}
	in.scratch = append(in.scratch[:0], text...)
	in.scratch[bytes.IndexByte(text, ',')] = '.'
	return in.scratch
}

// finish puts the levels in order and hands the columns over.
func (in *intake) finish(c *Columns) {
	for i := range in.categorical {
		k := &in.categorical[i]
		in.sameNumber(k)
		k.sort(in.s.dialect)
		c.Categorical = append(c.Categorical, k.Category)
	}
	for i := range in.numeric {
		c.Numeric = append(c.Numeric, in.numeric[i].Number)
	}
	for _, k := range in.optional {
		if k == nil {
			c.Optional = append(c.Optional, nil)
			continue
		}
		k.sort(in.s.dialect)
		c.Optional = append(c.Optional, &k.Category)
	}
}

// sameNumber notes levels that are one number written in two ways.
func (in *intake) sameNumber(c *categoryIntake) {
	first := make(map[float64]int, len(c.Levels))
	for k, level := range c.Levels {
		_, value, ok := in.s.dialect.Number(level)
		if !ok {
			continue
		}
		before, twice := first[value]
		if !twice {
			first[value] = k
			continue
		}
		in.s.fault(fault.Fault{
			Row:    c.row[k],
			Column: c.column + 1,
			Found:  fmt.Sprintf("%q is the same number as %q in row %d, but another text: one level or two?", level, c.Levels[before], c.row[before]),
			Do:     "write it in one way; if they differ, put a letter before each",
		})
	}
}

// sort puts the levels in order and renumbers the codes.
func (c *categoryIntake) sort(d Dialect) {
	d.SortLevels(c.Levels)
	renumber := make([]int32, len(c.Levels))
	for code, level := range c.Levels {
		renumber[c.code[level]] = int32(code)
	}
	for i, code := range c.Code {
		if code >= 0 {
			c.Code[i] = renumber[code]
		}
	}
}
