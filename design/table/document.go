package table

import (
	"fairrun/design/fault"

	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

// A Document is a table held with every byte of its file, to be filled in and
// written back. Rows and columns are counted from 0 and leave out the header and
// blank rows; [Document.Place] says where a row stands in the file.
//
// A row may lack cells at its end, which then are empty: spreadsheet programs
// leave out the separators where the last columns of a stretch of rows hold
// nothing, as a sheet that is not yet filled in does. A row with more cells than
// headings is a fault.
type Document struct {
	File    string
	Dialect Dialect
	Header  []string // headings, without the space around them

	prologue string
	records  []record // every row of the file
	rows     []int    // index into records of each row that is neither header nor blank
}

// record is one row of the file, blank ones and the header included.
type record struct {
	raw       []string // the bytes of each cell; joined by separators they are the row
	end       string   // the line end, "" only in the last row
	row, line int      // as in Fault; 0 in a row that was added
}

// Read reads the file at path, which may have at most limit bytes (limit > 0).
// A larger one is refused before it is read.
func Read(path string, limit int64) (*Document, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if info.Mode().IsRegular() && info.Size() > limit {
		return nil, tooLarge(path, sizeInWords(info.Size()), limit)
	}
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, err
	}
	size := "more"
	if info.Mode().IsRegular() {
		size = sizeInWords(info.Size())
	}
	if int64(len(data)) > limit {
		return nil, tooLarge(path, size, limit)
	}
	return Parse(path, data)
}

// TooLarge is the fault of a file of a size above the limit.
func TooLarge(path string, size, limit int64) error {
	return tooLarge(path, sizeInWords(size), limit)
}

func tooLarge(path, size string, limit int64) error {
	return fault.List{{
		File:  path,
		Found: fmt.Sprintf("the file is too large: %s, at most %s are read", size, sizeInWords(limit)),
		Do:    "check that this is the right file",
	}}
}

func sizeInWords(n int64) string {
	switch {
	case n >= 1<<20:
		return fmt.Sprintf("%.0f MiB", float64(n)/(1<<20))
	case n >= 1<<10:
		return fmt.Sprintf("%.0f KiB", float64(n)/(1<<10))
	}
	return fmt.Sprintf("%d bytes", n)
}

// Parse reads the table in data; file is its name in messages. The error is of
// type [fault.List].
func Parse(file string, data []byte) (*Document, error) {
	s := newScanner(file, nil, data)
	d := &Document{File: file, Dialect: s.dialect, prologue: string(s.prologue)}
	text := string(data)
	at := len(s.prologue)
	for s.next() {
		r := record{raw: make([]string, len(s.cells)), end: s.end, row: s.row, line: s.line}
		for k, c := range s.cells {
			r.raw[k] = text[at+int(c.start) : at+int(c.end)]
		}
		at += len(s.record)
		d.records = append(d.records, r)
		switch {
		case s.blank():
		case d.Header == nil:
			d.Header = s.header()
		case len(s.cells) > len(d.Header):
			s.faultHere(s.wrongWidth())
		default:
			d.rows = append(d.rows, len(d.records)-1)
		}
	}
	err := s.finish()
	if err != nil {
		return nil, err
	}
	d.Dialect.DecimalComma = d.decimalMark(0, len(d.Header)) == ','
	return d, nil
}

// New starts a table with these headings in dialect d, which must satisfy
// [Dialect.Check]. With one heading the separator is a comma: no other shows
// from a header without separators.
func New(file string, d Dialect, header []string) *Document {
	d = d.resolved()
	if len(header) == 1 {
		d.Separator, d.DecimalComma = ',', false
	}
	t := &Document{File: file, Dialect: d, Header: append([]string(nil), header...)}
	if d.BOM {
		t.prologue = byteOrderMark
	}
	raw := make([]string, len(header))
	for k, name := range header {
		raw[k] = encode(name, candidates) // the separator shows in the header
	}
	t.records = []record{{raw: raw, end: d.Newline}}
	t.records[0].keepFromBlank(0)
	return t
}

// Bytes is the file: what was read, but for what was set and added.
func (d *Document) Bytes() []byte {
	b := []byte(d.prologue)
	for _, r := range d.records {
		for k, raw := range r.raw {
			if k > 0 {
				b = append(b, d.Dialect.Separator)
			}
			b = append(b, raw...)
		}
		b = append(b, r.end...)
	}
	return b
}

// Rows is the number of rows, without the header and blank ones.
func (d *Document) Rows() int { return len(d.rows) }

// Column is the index of the column with that heading, or -1.
func (d *Document) Column(name string) int { return slices.Index(d.Header, name) }

// Place is a fault at a cell, or at the row as a whole if col is -1, for the
// caller to say what is wrong there.
func (d *Document) Place(row, col int) fault.Fault {
	r := d.records[d.rows[row]]
	f := fault.Fault{File: d.File, Row: r.row, Line: r.line}
	if col >= 0 {
		f.Column, f.Name = col+1, d.Header[col]
	}
	return f
}

// Cell is the text of a cell: without the space around it and without its quotes.
func (d *Document) Cell(row, col int) string {
	raw := d.records[d.rows[row]].raw
	if col >= len(raw) && col < len(d.Header) {
		return ""
	}
	_, core, _ := split(raw[col])
	return decode(core)
}

// Set makes text, which must be UTF-8 without zero bytes, the text of a cell. Quotes are put around
// it when it needs them or the cell had them; space around the cell stays.
func (d *Document) Set(row, col int, text string) {
	r := &d.records[d.rows[row]]
	for col >= len(r.raw) && col < len(d.Header) {
		r.raw = append(r.raw, "")
	}
	before, core, after := split(r.raw[col])
	if text == decode(core) {
		return
	}
	if strings.HasPrefix(core, `"`) {
		r.raw[col] = before + quote(text) + after
	} else {
		r.raw[col] = before + encode(text, string(d.Dialect.Separator)) + after
	}
	r.keepFromBlank(col)
}

// SetNumber is Set for a number written with a decimal point: it is written with
// the decimal mark of its column or, where that has none yet, of the file.
func (d *Document) SetNumber(row, col int, point string) {
	if d.writesComma(col) {
		point = withComma(point)
	}
	d.Set(row, col, point)
}

// writesComma reports whether numbers in column col are written with a decimal comma.
func (d *Document) writesComma(col int) bool {
	mark := d.decimalMark(col, col+1)
	return mark == ',' || mark == 0 && d.Dialect.DecimalComma
}

// withComma is a number with a decimal comma for its point.
func withComma(point string) string { return strings.Replace(point, ".", ",", 1) }

// Append adds rows of cells, each as long as the header, after the last row that
// is not blank. Numeric says of each column whether its cells are numbers, to be
// written as SetNumber does; nil is false for all. Whether the file's last row has a
// line end stays as it is.
func (d *Document) Append(rows [][]string, numeric []bool) {
	last := 0
	for i, r := range d.records {
		if r.row == 0 || !r.blank() {
			last = i
		}
	}
	comma := make([]bool, len(d.Header))
	for k := range numeric {
		comma[k] = numeric[k] && d.writesComma(k)
	}
	added := make([]record, len(rows))
	for i, cells := range rows {
		if len(cells) != len(d.Header) {
			panic(badWidth)
		}
		raw := make([]string, len(cells))
		for k, text := range cells {
			if comma[k] {
				text = withComma(text)
			}
			raw[k] = encode(text, string(d.Dialect.Separator))
		}
		added[i] = record{raw: raw, end: d.Dialect.resolved().Newline}
		added[i].keepFromBlank(0)
	}
	if len(rows) > 0 && d.records[last].end == "" {
		d.records[last].end = d.Dialect.resolved().Newline
		added[len(added)-1].end = ""
	}
	d.records = slices.Insert(d.records, last+1, added...)
	for i := range added {
		d.rows = append(d.rows, last+1+i)
	}
}

const badWidth = "table: row and header differ in length"

// blank reports a row with nothing in it, not even quotes.
func (r *record) blank() bool {
	for _, raw := range r.raw {
		_, core, _ := split(raw)
		if strings.HasPrefix(core, `"`) || decode(core) != "" {
			return false
		}
	}
	return true
}

// keepFromBlank puts quotes into cell k of a row that would otherwise be taken for
// a blank one when it is read again.
func (r *record) keepFromBlank(k int) {
	if r.blank() {
		r.raw[k] = `""`
	}
}
