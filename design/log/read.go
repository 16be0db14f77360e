package log

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fairrun/design/fault"
	"fairrun/design/unit"
	"fairrun/stats/words"
)

func itoa(n int) string { return strconv.Itoa(n) }

// Read reads the wanted columns of a log. What is wrong with it comes back as [fault.List], the
// end of ctx as its error. Of a log whose name ends in .gz the text is read that is packed in it.
func Read(ctx context.Context, path string, want Selection) (l *Log, err error) {
	r, err := open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.source.file.Close() }() // it was only read
	if err := r.find(want); err != nil {
		return nil, err
	}
	if err := r.rows(); err != nil {
		return nil, err
	}
	if r.log.SHA256, err = r.source.hash(); err != nil {
		return nil, err
	}
	return r.log, nil
}

// reader reads one log.
type reader struct {
	source *source
	lines  *lines
	shape  *shape

	log    *Log
	want   Selection
	wanted []wanted // by their place in a row
	stamps stamps
	take   func(values []float64) // takes a row: the columns, then the time
	count  int                    // rows
	faults fault.List
	cells  [][]byte
	values []float64 // of the row that is read; the time is the last
}

// wanted is a column that is read.
type wanted struct {
	place int     // in a row, from 0
	index int     // in Log.Columns; len(Log.Columns) is the time
	clock bool    // it holds a time of day
	scale float64 // to the unit in which it is wanted
}

// open opens a log and finds out how it is written.
func open(ctx context.Context, path string) (*reader, error) {
	src, err := openSource(ctx, path)
	if err != nil {
		return nil, err
	}
	r := &reader{source: src, lines: &lines{from: src.text}}
	if err = r.lines.fill(); err == nil {
		head := r.lines.buffer
		r.shape, err = shapeOf(path, head[:min(len(head), headBytes)], r.lines.done && len(head) <= headBytes)
	} else {
		err = src.broken(err)
	}
	if err != nil {
		_ = src.file.Close() // the first error says more
		return nil, err
	}
	r.lines.end, r.lines.start = r.shape.end, r.shape.mark
	return r, nil
}

// find finds the wanted columns.
func (r *reader) find(want Selection) error {
	r.want, r.take = want, r.keep
	r.log = &Log{Columns: make([][]float64, len(want.Columns)), Units: make([]unit.Unit, len(want.Columns))}
	r.values = make([]float64, len(want.Columns)+1)
	var faults fault.List
	note := func(f *fault.Fault) {
		if f != nil {
			f.File = r.source.name
			faults = append(faults, *f)
		}
	}
	if want.Time.Header != "" {
		w, f := r.column(want.Time.Header)
		note(f)
		if f == nil {
			w.index = len(want.Columns)
			w.clock = want.Time.Clock
			w.scale, f = r.shape.columns[w.place].seconds(want.Time)
			note(f)
			r.wanted = append(r.wanted, w)
		}
	}
	for i, c := range want.Columns {
		w, f := r.column(c.Header)
		note(f)
		if f != nil {
			continue
		}
		w.index = i
		w.scale, r.log.Units[i], f = r.shape.columns[w.place].scaled(c)
		note(f)
		r.wanted = append(r.wanted, w)
	}
	if faults != nil {
		return faults
	}
	slices.SortStableFunc(r.wanted, func(a, b wanted) int { return cmp.Compare(a.place, b.place) })
	rows := int(min(r.source.bytes/int64(r.shape.rowBytes), 1<<22)) + 1
	for i := range r.log.Columns {
		r.log.Columns[i] = make([]float64, 0, rows)
	}
	r.log.Time = make([]float64, 0, rows)
	return nil
}

// column finds the column with a heading: as it stands, without its unit, or but for capitals.
func (r *reader) column(header string) (w wanted, f *fault.Fault) {
	var names []string
	for _, same := range []func(h heading) bool{
		func(h heading) bool { return h.text == header },
		func(h heading) bool { return h.name == header },
		func(h heading) bool { return strings.EqualFold(h.text, header) || strings.EqualFold(h.name, header) },
	} {
		var places []int
		for c, h := range r.shape.columns {
			if same(h) {
				places = append(places, c)
			}
		}
		if len(places) > 1 {
			return w, &fault.Fault{Row: r.shape.heading, Found: fmt.Sprintf("the heading %q stands over %d columns", header, len(places)), Do: "give them different headings in the logger, or name one that stands once"}
		}
		if len(places) == 1 {
			return wanted{place: places[0]}, nil
		}
	}
	for _, h := range r.shape.columns {
		names = append(names, h.text)
	}
	f = &fault.Fault{Row: r.shape.heading, Found: fmt.Sprintf("there is no column %q", header), Do: "the log has " + words.List(words.Quoted(names), 12)}
	if near := words.Nearest(header, names); near != "" {
		f.Do = fmt.Sprintf("did you mean %q? The log has %s", near, words.List(words.Quoted(names), 12))
	}
	return w, f
}

// seconds is what one of a column of time is in s.
func (h heading) seconds(t Time) (float64, *fault.Fault) {
	second, _ := unit.Parse("s")
	if t.Clock {
		return 1, nil
	}
	if h.clock {
		return 0, &fault.Fault{Name: h.text, Found: fmt.Sprintf("the column %q holds a time of day", h.text), Do: "write clock = true for it in the plan"}
	}
	of := second
	if t.Unit.String() != "" {
		of = t.Unit
	}
	scale, _, f := h.scaled(Column{Header: t.Header, Unit: of})
	if f != nil {
		return 0, f
	}
	size, err := of.In(second)
	if err != nil {
		return 0, &fault.Fault{Name: h.text, Found: fmt.Sprintf("%q is no unit of time", of), Do: `write "s", "ms" or "µs"`}
	}
	return size * scale, nil
}

// scaled says in which unit a column is wanted and what one of the log's unit is in it.
func (h heading) scaled(c Column) (scale float64, in unit.Unit, f *fault.Fault) {
	if h.clock {
		return 0, in, &fault.Fault{Name: h.text, Found: fmt.Sprintf("the column %q holds times of day, no numbers", h.text), Do: "name a column of numbers"}
	}
	stated, err := unit.Parse(h.unit)
	if h.unit == "" || err != nil {
		return 1, c.Unit, nil
	}
	if c.Unit.String() == "" {
		return 1, stated, nil
	}
	scale, err = stated.In(c.Unit)
	if err != nil || unit.Shifted(stated, c.Unit) {
		return 0, in, &fault.Fault{Name: h.text, Found: fmt.Sprintf("the log has the column %q in %s, the plan in %s", h.text, stated, c.Unit), Do: "write the log's unit in the plan"}
	}
	return scale, c.Unit, nil
}

// mostFaults is after how many a log is given up.
const mostFaults = 3

// rows reads all rows.
func (r *reader) rows() error {
	for {
		line, ok, err := r.lines.next()
		if err != nil {
			return r.source.broken(err)
		}
		if !ok {
			break
		}
		if r.lines.at < r.shape.first || len(line) == 0 || line[0] == '#' {
			continue
		}
		r.row(line)
		if len(r.faults) == mostFaults {
			break
		}
	}
	if len(r.faults) > 0 {
		return r.faults
	}
	if r.count == 0 {
		return wrong(r.source.name, 0, "no row is whole", "was the logger started?")
	}
	return nil
}

// row reads one line.
func (r *reader) row(line []byte) {
	if r.lines.unfinished && r.cutShort(line) {
		r.log.Cut = true
		return
	}
	before := len(r.faults)
	for i := range r.values {
		r.values[i] = math.NaN()
	}
	if r.shape.separator == ' ' || bytes.IndexByte(line, '"') >= 0 {
		r.cells = split(line, r.shape.separator, r.cells[:0])
		for _, w := range r.wanted {
			if w.place < len(r.cells) {
				r.cell(w, r.cells[w.place])
			}
		}
	} else {
		r.plain(line)
	}
	if len(r.faults) > before {
		if r.shape.heading > 0 && bytes.Equal(line, r.shape.headline) || len(bytes.TrimSpace(line)) == 0 {
			r.faults = r.faults[:before] // the heading again, where the logger was started again
		}
		return
	}
	r.take(r.values)
	r.count++
}

// keep keeps a row in the log.
func (r *reader) keep(values []float64) {
	for i := range r.log.Columns {
		r.log.Columns[i] = append(r.log.Columns[i], values[i])
	}
	t := values[len(r.log.Columns)]
	if r.want.Time.Header == "" {
		t = float64(r.count) / r.want.Time.Rate
	}
	r.log.Time = append(r.log.Time, t)
}

// plain reads the wanted cells of a line without quotes, and looks at no others.
func (r *reader) plain(line []byte) {
	place := 0
	for _, w := range r.wanted {
		for place < w.place {
			i := bytes.IndexByte(line, r.shape.separator)
			if i < 0 {
				return
			}
			line = line[i+1:]
			place++
		}
		end := bytes.IndexByte(line, r.shape.separator)
		if end < 0 {
			end = len(line)
		}
		r.cell(w, trim(line[:end]))
	}
}

// cutShort reports whether the last line, which has no end, lacks cells or may lack digits: then
// nobody knows whether its last number is whole.
func (r *reader) cutShort(line []byte) bool {
	cells := split(line, r.shape.separator, nil)
	last := len(r.shape.columns) - 1
	if len(cells) <= last {
		return true
	}
	for _, w := range r.wanted {
		if w.place == last && len(cells) == last+1 {
			return true
		}
	}
	return false
}

// cell reads one wanted cell of a row.
func (r *reader) cell(w wanted, cell []byte) {
	if w.clock {
		if t, ok := r.stamps.next(cell); ok {
			r.values[w.index] = t
		} else if !absent(cell) {
			r.note(w, fmt.Sprintf("%q is no time of day", brief(cell)), "write it as 14:03:21.250, with or without a date before it")
		}
		return
	}
	x, mark, ok := number(cell)
	switch {
	case ok && (mark == 0 || mark == r.shape.decimal):
		r.values[w.index] = x * w.scale
	case ok && r.shape.decimal == 0:
		r.shape.decimal = mark
		r.values[w.index] = x * w.scale
	case absent(cell):
	case ok:
		r.note(w, fmt.Sprintf("%q has another decimal mark than the numbers before it", brief(cell)), "export the log with one decimal mark and no marks between thousands")
	default:
		if _, _, _, isTime := clock(cell); isTime {
			r.note(w, fmt.Sprintf("%q is a time of day", brief(cell)), "write clock = true for this column in the plan")
			return
		}
		r.note(w, fmt.Sprintf("%q is not a number", brief(cell)), "take the line out, or leave the cell empty if nothing was measured")
	}
}

func (r *reader) note(w wanted, found, do string) {
	r.faults = append(r.faults, fault.Fault{File: r.source.name, Row: r.lines.at, Column: w.place + 1, Name: r.shape.columns[w.place].text, Found: found, Do: do})
}

// brief shortens what a person is shown of a cell.
func brief(cell []byte) string {
	text := []rune(readable(cell))
	if len(text) > 40 {
		return string(text[:39]) + "…"
	}
	return string(text)
}

// Hash returns the SHA-256 of a log as it lies on disk, in hexadecimal.
func Hash(ctx context.Context, path string) (string, error) {
	src, err := openSource(ctx, path)
	if err != nil {
		return "", err
	}
	defer func() { _ = src.file.Close() }() // it was only read
	return src.hash()
}
