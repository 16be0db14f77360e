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

// candidates are the separators a header is searched for, in the order that wins
// a tie: the later ones are commoner inside text.
const candidates = "\t;,"

// sniff tells the dialect from the start b of a file and the length of what
// stands before the first row: the byte order mark and a line "sep=;". It reports
// enough = false when the header does not end within b. DecimalComma is left to
// those who read cells.
func sniff(b []byte) (d Dialect, prologue int, enough bool) {
	if bytes.HasPrefix(b, []byte(byteOrderMark)) {
		d.BOM = true
		prologue = len(byteOrderMark)
	}
	if separator, end := separatorLine(b[prologue:]); end != "" {
		d.Separator, d.Newline = separator, end
		return d, prologue + len("sep=;") + len(end), true
	}

	var count [len(candidates)]int
	fresh := true // at the start of a cell, where a quote opens
	said := false // the row has more in it than blanks, so it tells the separator
scan:
	for i := prologue; i < len(b); i++ {
		c := b[i]
		k := strings.IndexByte(candidates, c)
		switch {
		case k >= 0:
			count[k]++
			fresh = true
			said = said || c != '\t'
		case c == '"' && fresh:
			said, fresh = true, false
			end := closingQuote(b[i+1:])
			if end < 0 {
				break scan // more to come, or never closed: the scanner says so
			}
			i += 1 + end
		case c == '\n' || c == '\r':
			if d.Newline == "" {
				d.Newline = lineEnd(b[i:])
			}
			if said {
				enough = true
				break scan
			}
			count = [len(candidates)]int{}
			fresh = true
		case c != ' ':
			said, fresh = true, false
		}
	}
	d.Separator = ','
	most := 0
	for k, n := range count {
		if n > most {
			most = n
			d.Separator = candidates[k]
		}
	}
	return d, prologue, enough
}

// separatorLine is the separator named by a first line "sep=;", as some
// spreadsheets write and all of them hide, and the line's end; "" if b does not
// start so.
func separatorLine(b []byte) (separator byte, end string) {
	const key = "sep="
	if len(b) < len(key)+2 || !strings.EqualFold(string(b[:len(key)]), key) {
		return 0, ""
	}
	if strings.IndexByte(candidates, b[len(key)]) < 0 {
		return 0, ""
	}
	return b[len(key)], lineEnd(b[len(key)+1:])
}

// lineEnd is the line end that b starts with, "" if none.
func lineEnd(b []byte) string {
	switch {
	case len(b) > 0 && b[0] == '\n':
		return "\n"
	case len(b) > 1 && b[0] == '\r' && b[1] == '\n':
		return "\r\n"
	case len(b) > 0 && b[0] == '\r':
		return "\r"
	}
	return ""
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

// headBytes is how much of a file wrongEncoding looks at.
const headBytes = 512

const notText = `export the table as "CSV UTF-8"`

// wrongEncoding says what is wrong with a file that starts with b when it is
// plainly not UTF-8 text: UTF-16, or not text at all. Found is "" if it may be.
func wrongEncoding(b []byte) (found, do string) {
	head := b[:min(len(b), headBytes)]
	starts := func(magic string) bool { return bytes.HasPrefix(b, []byte(magic)) }
	switch {
	case starts("\xFF\xFE"), starts("\xFE\xFF"), everyOtherZero(head):
		return "is UTF-16 text", `save it as "CSV UTF-8" or, in an editor, with encoding UTF-8`
	case starts("PK\x03\x04"), starts("\xD0\xCF\x11\xE0"):
		return "is a spreadsheet program's own file, not text", notText
	case bytes.IndexByte(head, 0) >= 0:
		return "is not a text file: it holds zero bytes", notText
	}
	return "", ""
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
