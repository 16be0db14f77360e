package table

import (
	"fairrun/design/fault"

	"bytes"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"fairrun/stats/words"
)

// maxRowBytes bounds one row, and with it the memory of a reader. Only a quote
// that is never closed makes longer ones.
const maxRowBytes = 1 << 20

// A cell is one cell of a scanned row: offsets into the row's bytes.
type cell struct {
	start, end int32 // all of it, with spaces and quotes
	lo, hi     int32 // its text, inside the quotes
	quoted     bool
	escaped    bool // holds "", which stands for one quote
}

// text is the cell's text in row. It uses *scratch when quotes must be undone, so
// it holds only until the next call.
func (c cell) text(row []byte, scratch *[]byte) []byte {
	t := row[c.lo:c.hi]
	if !c.escaped {
		return t
	}
	s := (*scratch)[:0]
	for {
		i := bytes.IndexByte(t, '"')
		if i < 0 {
			break
		}
		s = append(s, t[:i+1]...)
		t = t[i+2:]
	}
	*scratch = append(s, t...)
	return *scratch
}

// maxFaults is where readers give up: a file with so many faults is the wrong
// file, or has one fault in every row.
const maxFaults = 1000

// A scanner cuts a file into rows and cells. It holds one row at a time; what it
// gives out is good until the next call of next.
//
// Invariant: buf[pos:] is what has been read and not yet given out, buf[pos] is
// byte number base+pos of the file.
type scanner struct {
	file   string
	src    io.Reader // nil when all of the file is in buf
	buf    []byte
	pos    int
	base   int64
	atEnd  bool  // src has nothing more
	failed error // from src

	dialect  Dialect
	prologue []byte   // the byte order mark and the line "sep=;"
	names    []string // the headings, once they are read

	row      int // number of the row given out, from 1
	line     int // its line, from 1
	nextLine int
	record   []byte // the row's bytes, with its line end
	end      string // the line end, "" for an unended last row
	cells    []cell
	faults   fault.List
}

const bufferSize = 1 << 18

// newScanner starts reading what buf holds and then, unless it is nil, src; the
// scanner stands before the first row. Whatever is wrong is in faults. A buf to read
// into must have some capacity.
func newScanner(file string, src io.Reader, buf []byte) *scanner {
	s := &scanner{file: file, src: src, buf: buf, atEnd: src == nil, nextLine: 1}
	for !s.atEnd && len(s.buf) < headBytes {
		s.fill()
	}
	if found, do := wrongEncoding(s.buf); found != "" {
		s.fault(fault.Fault{Found: found, Do: do})
		s.stop()
		return s
	}
	enough := false
	n := 0
	for {
		s.dialect, n, enough = sniff(s.buf)
		if enough || s.atEnd || len(s.buf) > maxRowBytes {
			break
		}
		s.fill()
	}
	s.prologue = bytes.Clone(s.buf[:n])
	s.pos = n
	s.nextLine += countLines(s.prologue)
	return s
}

// fill reads until the buffer is full or src ends, after making room: by dropping
// what has been given out, or else by doubling.
func (s *scanner) fill() {
	if s.pos > 0 {
		s.base += int64(s.pos)
		s.buf = s.buf[:copy(s.buf, s.buf[s.pos:])]
		s.pos = 0
	}
	if len(s.buf) == cap(s.buf) {
		s.buf = append(make([]byte, 0, 2*cap(s.buf)), s.buf...)
	}
	n, err := io.ReadFull(s.src, s.buf[len(s.buf):cap(s.buf)])
	s.buf = s.buf[:len(s.buf)+n]
	if err != nil {
		s.atEnd = true
		if err != io.EOF && err != io.ErrUnexpectedEOF {
			s.failed = err
		}
	}
}

// stop makes next report the end.
func (s *scanner) stop() {
	s.pos, s.atEnd = len(s.buf), true
}

// fault notes f, and gives up when there are too many.
func (s *scanner) fault(f fault.Fault) {
	f.File = s.file
	if f.Column > 0 && f.Column <= len(s.names) {
		f.Name = s.names[f.Column-1]
	}
	s.faults = append(s.faults, f)
	if len(s.faults) == maxFaults {
		s.faults = append(s.faults, fault.Fault{File: s.file, Row: s.row, Line: s.line, Found: fmt.Sprintf("reading stopped after %d faults", maxFaults)})
		s.stop()
	}
}

// faultHere notes f at the row given out last.
func (s *scanner) faultHere(f fault.Fault) {
	f.Row, f.Line = s.row, s.line
	s.fault(f)
}

// next gives out the next row, blank ones included, in record, end and cells. It
// returns false at the end of the file or where the file cannot be read on.
func (s *scanner) next() bool {
	n := 0
	for n == 0 {
		b := s.buf[s.pos:]
		if len(b) == 0 && s.atEnd {
			return false
		}
		whole := s.atEnd
		if len(b) > maxRowBytes {
			b, whole = b[:maxRowBytes+1], false
		}
		n = s.cut(b, whole)
		if n == 0 && !s.atEnd && len(b) <= maxRowBytes {
			s.fill()
			continue
		}
		if n == 0 || n > maxRowBytes {
			s.row++
			s.line = s.nextLine
			s.faultHere(s.tooLong())
			s.stop()
			return false
		}
	}
	s.record = s.buf[s.pos : s.pos+n]
	s.pos += n
	s.row++
	s.line = s.nextLine
	s.nextLine++
	for _, c := range s.cells {
		if c.quoted {
			s.nextLine += countLines(s.record[c.lo:c.hi])
		}
	}
	s.checkText()
	return true
}

// cut finds the first row of b, sets cells and end and returns the row's length:
// 0 when the row does not end in b, even if the file does (whole), as with a quote
// that is never closed.
func (s *scanner) cut(b []byte, whole bool) int {
	s.cells = s.cells[:0]
	separator := s.dialect.Separator
	i := 0
	for {
		c := cell{start: int32(i)}
		for i < len(b) && (b[i] == ' ' || b[i] == '\t' && separator != '\t') {
			i++
		}
		if i < len(b) && b[i] == '"' {
			end := closingQuote(b[i+1:])
			if end < 0 {
				return 0
			}
			c.quoted = true
			c.lo = int32(i + 1)
			i += 1 + end
			c.hi = int32(i)
			c.escaped = bytes.IndexByte(b[c.lo:c.hi], '"') >= 0
			i++
		} else {
			c.lo = int32(i)
		}
		for i < len(b) && b[i] != separator && b[i] != '\n' && b[i] != '\r' {
			i++
		}
		c.end = int32(i)
		if !c.quoted {
			c.lo, c.hi = trim(b, c.lo, c.end)
		}
		s.cells = append(s.cells, c)

		switch {
		case i == len(b):
			s.end = ""
			if !whole {
				return 0
			}
			return i
		case b[i] == separator:
			i++
		case b[i] == '\r' && i+1 == len(b) && !whole:
			return 0
		default:
			s.end = lineEnd(b[i:])
			return i + len(s.end)
		}
	}
}

// trim narrows b[lo:hi] to what is left without the space around it.
func trim(b []byte, lo, hi int32) (int32, int32) {
	if lo == hi || plain(b[lo]) && plain(b[hi-1]) {
		return lo, hi
	}
	t := bytes.TrimLeftFunc(b[lo:hi], unicode.IsSpace)
	lo = hi - int32(len(t))
	t = bytes.TrimRightFunc(t, unicode.IsSpace)
	return lo, lo + int32(len(t))
}

// plain reports that c is neither space nor part of a longer character.
func plain(c byte) bool { return c > ' ' && c < utf8.RuneSelf }

// checkText notes what is wrong with the row as text: bytes that are not UTF-8, or
// zero (once a file: there is one remedy for all of them), and text after a
// closing quote.
func (s *scanner) checkText() {
	if at := bytes.IndexByte(s.record, 0); at >= 0 {
		s.faultHere(fault.Fault{Column: s.columnAt(at), Found: "a zero byte", Do: notText})
		s.stop()
		return
	}
	if !utf8.Valid(s.record) {
		at := firstInvalid(s.record)
		s.faultHere(fault.Fault{
			Column: s.columnAt(at),
			Found:  fmt.Sprintf("byte 0x%02X, number %d of the file, is not UTF-8 text", s.record[at], s.base+int64(s.pos-len(s.record)+at)+1),
			Do:     `save the file as "CSV UTF-8" or, in an editor, with encoding UTF-8`,
		})
		s.stop()
		return
	}
	for k, c := range s.cells {
		if !c.quoted {
			continue
		}
		rest := bytes.TrimFunc(s.record[c.hi+1:c.end], unicode.IsSpace)
		if len(rest) > 0 {
			s.faultHere(fault.Fault{
				Column: k + 1,
				Found:  fmt.Sprintf("%q follows the quote that closes the cell", brief(rest)),
				Do:     `write a quote inside a quoted cell as two: ""`,
			})
		}
	}
}

// columnAt is the number, from 1, of the cell that holds byte at of the record.
func (s *scanner) columnAt(at int) int {
	for k, c := range s.cells {
		if at <= int(c.end) {
			return k + 1
		}
	}
	return len(s.cells)
}

// tooLong is the fault of a row that does not end within bounds. What it stops in
// is the cell after those of s.cells.
func (s *scanner) tooLong() fault.Fault {
	from := s.pos
	if n := len(s.cells); n > 0 {
		from += int(s.cells[n-1].end) + 1
	}
	if bytes.HasPrefix(bytes.TrimLeft(s.buf[from:], " \t"), []byte{'"'}) {
		return fault.Fault{
			Column: len(s.cells) + 1,
			Found:  "a quote opens here and is never closed",
			Do:     `close it, or write a quote inside a quoted cell as two: ""`,
		}
	}
	return fault.Fault{
		Found: fmt.Sprintf("the row is longer than %d bytes", maxRowBytes),
		Do:    "check that this is a table, with one row a line",
	}
}

// header takes the row given out last for the headings. Whatever is wrong with
// them is noted.
func (s *scanner) header() []string {
	var scratch []byte
	s.names = make([]string, len(s.cells))
	for k, c := range s.cells {
		s.names[k] = strings.TrimSpace(string(c.text(s.record, &scratch)))
	}
	first := make(map[string]int, len(s.names))
	for k, name := range s.names {
		before, twice := first[name]
		if twice && name != "" {
			s.faultHere(fault.Fault{
				Column: k + 1,
				Found:  fmt.Sprintf("column %d has the same heading", before+1),
				Do:     "give each column a heading of its own",
			})
			continue
		}
		first[name] = k
	}
	return s.names
}

// finish notes a file without headings, and returns all that is wrong.
func (s *scanner) finish() error {
	if s.names == nil && len(s.faults) == 0 && s.failed == nil {
		s.fault(fault.Fault{Found: "the file is empty", Do: "its first row must hold the headings of the columns"})
	}
	if s.failed != nil {
		return s.failed
	}
	if len(s.faults) == 0 {
		return nil
	}
	slices.SortStableFunc(s.faults, func(a, b fault.Fault) int { return cmp.Compare(a.Row, b.Row) })
	return s.faults
}

// wrongWidth is the fault of a row whose cells do not match the headings.
func (s *scanner) wrongWidth() fault.Fault {
	f := fault.Fault{Found: fmt.Sprintf("the row has %s, the header has %d", words.Count(len(s.cells), "cell"), len(s.names))}
	if len(s.cells) > len(s.names) {
		f.Do = "put a cell that holds the separator itself in double quotes, or give the further columns headings"
		return f
	}
	f.Do = "add what is missing, or the separators of empty cells"
	return f
}

// blank reports a row with nothing in it, as spreadsheets write below a table.
func (s *scanner) blank() bool {
	for _, c := range s.cells {
		if c.quoted || c.lo < c.hi {
			return false
		}
	}
	return true
}

// countLines is the number of line ends in b.
func countLines(b []byte) int {
	n := bytes.Count(b, []byte{'\n'})
	if bytes.IndexByte(b, '\r') >= 0 {
		n += bytes.Count(b, []byte{'\r'}) - bytes.Count(b, []byte("\r\n"))
	}
	return n
}

// brief is b shortened for a message.
func brief(b []byte) string {
	const most = 40
	if len(b) <= most {
		return string(b)
	}
	cut := most
	for cut > 0 && !utf8.RuneStart(b[cut]) {
		cut--
	}
	return string(b[:cut]) + "…"
}
