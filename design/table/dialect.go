package table

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// Dialect is how a file writes a table. The zero value is the plainest: no byte
// order mark, commas, LF, decimal points.
type Dialect struct {
	BOM          bool   // begins with the UTF-8 byte order mark
	Separator    byte   // ',' (or 0), ';' or '\t'
	Newline      string // "\n" (or ""), "\r\n" or "\r"
	DecimalComma bool   // writes 12,5; never with commas between cells
}

// resolved is d with the zero values spelt out.
func (d Dialect) resolved() Dialect {
	if d.Separator == 0 {
		d.Separator = ','
	}
	if d.Newline == "" {
		d.Newline = "\n"
	}
	return d
}

// Check says whether a new file can be written in d.
func (d Dialect) Check() error {
	d = d.resolved()
	switch {
	case d.Separator != ',' && d.Separator != ';' && d.Separator != '\t':
		return fmt.Errorf("separator %q: use a comma, a semicolon or a tab", d.Separator)
	case d.Newline != "\n" && d.Newline != "\r\n" && d.Newline != "\r":
		return fmt.Errorf("line end %q: use LF, CRLF or CR", d.Newline)
	case d.DecimalComma && d.Separator == ',':
		return fmt.Errorf("decimal commas cannot stand in a file separated by commas: use semicolons or tabs")
	}
	return nil
}

const byteOrderMark = "\xEF\xBB\xBF"

// sniff tells the dialect from the start b of a file and the length of what
// stands before the first row: the byte order mark and a line "sep=;". It reports
// enough = false when the header does not end within b and more of the file
// could be had (atEnd = false). DecimalComma is left to those who read cells.
func sniff(b []byte, atEnd bool) (d Dialect, prologue int, enough bool) {
	if bytes.HasPrefix(b, []byte(byteOrderMark)) {
		d.BOM = true
		prologue = len(byteOrderMark)
	}
	if s, n := separatorLine(b[prologue:], atEnd); n > 0 {
		d.Separator = s
		d.Newline = strings.TrimLeft(string(b[prologue+len("sep=;"):prologue+n]), " ")
		prologue += n
		return d, prologue, true
	}

	const candidates = "\t;," // in the order that wins a tie: the later ones are commoner inside text
	var count [len(candidates)]int
	fresh := true // at the start of a cell, where a quote opens
	said := false // the row has more in it than blanks and separators
	for i := prologue; i < len(b); i++ {
		switch c := b[i]; c {
		case '"':
			said = true
			if !fresh {
				continue
			}
			end := closingQuote(b[i+1:])
			if end < 0 {
				return d, prologue, atEnd // unclosed: the scanner says so
			}
			i += 1 + end
			fresh = false
		case '\n', '\r':
			if c == '\r' && i+1 == len(b) && !atEnd {
				return d, prologue, false
			}
			if d.Newline == "" {
				d.Newline = b2s(lineEnd(b[i:]))
			}
			if said {
				d.Separator = candidates[mostFrequent(count[:])]
				return d.orComma(count[:]), prologue, true
			}
			count = [len(candidates)]int{}
			fresh = true
		case ' ':
		default:
			k := strings.IndexByte(candidates, c)
			if k >= 0 {
				count[k]++
				fresh = true
				continue
			}
			said = true
			fresh = false
		}
	}
	d.Separator = candidates[mostFrequent(count[:])]
	return d.orComma(count[:]), prologue, atEnd
}

// orComma is d with a comma for separator when no separator was counted.
func (d Dialect) orComma(count []int) Dialect {
	if count[mostFrequent(count)] == 0 {
		d.Separator = ','
	}
	return d
}

// separatorLine is the separator told by a first line "sep=;", as some
// spreadsheets write and all of them hide, and the line's length with its end.
func separatorLine(b []byte, atEnd bool) (separator byte, n int) {
	const key = "sep="
	if len(b) < len(key)+2 || !strings.EqualFold(string(b[:len(key)]), key) {
		return 0, 0
	}
	s := b[len(key)]
	end := lineEnd(b[len(key)+1:])
	if end == nil || strings.IndexByte(",;\t", s) < 0 {
		return 0, 0
	}
	return s, len(key) + 1 + len(end)
}

// lineEnd is the line end that b starts with, nil if none.
func lineEnd(b []byte) []byte {
	switch {
	case len(b) > 0 && b[0] == '\n':
		return b[:1]
	case len(b) > 1 && b[0] == '\r' && b[1] == '\n':
		return b[:2]
	case len(b) > 0 && b[0] == '\r':
		return b[:1]
	}
	return nil
}

// closingQuote is the index in b, the inside of a quoted cell and what follows, of
// the quote that closes it, or -1.
func closingQuote(b []byte) int {
	for i := 0; ; {
		j := bytes.IndexByte(b[i:], '"')
		if j < 0 {
			return -1
		}
		i += j
		if i+1 < len(b) && b[i+1] == '"' {
			i += 2
			continue
		}
		return i
	}
}

func mostFrequent(count []int) int {
	best := 0
	for k, n := range count {
		if n > count[best] {
			best = k
		}
	}
	return best
}

// wrongEncoding says what is wrong with a file that starts with b when it is
// plainly not UTF-8 text: UTF-16, or not text at all. Found is "" if it may be.
func wrongEncoding(b []byte) (found, do string) {
	head := b[:min(len(b), 512)]
	utf16 := bytes.HasPrefix(b, []byte("\xFF\xFE")) || bytes.HasPrefix(b, []byte("\xFE\xFF"))
	if !utf16 && bytes.IndexByte(head, 0) < 0 {
		return "", ""
	}
	if bytes.HasPrefix(b, []byte("PK\x03\x04")) || bytes.HasPrefix(b, []byte("\xD0\xCF\x11\xE0")) {
		return "is a spreadsheet's own file, not a text file", `export it as "CSV UTF-8"`
	}
	if utf16 || everyOtherZero(head) {
		return "is UTF-16 text", `save it as "CSV UTF-8" or, in an editor, with encoding UTF-8`
	}
	return "is not a text file: it holds zero bytes", `export the table as "CSV UTF-8"`
}

// everyOtherZero reports whether b looks like UTF-16 text in a Latin script.
func everyOtherZero(b []byte) bool {
	var zero [2]int
	for i, c := range b {
		if c == 0 {
			zero[i%2]++
		}
	}
	most, least := max(zero[0], zero[1]), min(zero[0], zero[1])
	return most > len(b)/4 && least <= most/8
}

// firstInvalid is the index of the first byte of b that is not UTF-8, or -1.
func firstInvalid(b []byte) int {
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}
