package plan

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"unicode/utf8"
)

// Fault is one thing wrong with a plan: where it stands, what was found and what to do about it.
type Fault struct {
	File   string // as given to Read or Parse; "" when there is no file
	Line   int    // from one; 0 when the fault is of the file as a whole
	Column int    // from one, in characters, a byte order mark not counted; 0 with Line 0
	What   string // what was found
	Do     string // what to do
}

// Error returns "file:line:column: what; do" on one line; a fault without a place has the file
// alone before it, and one without a file its line and column in words.
func (f *Fault) Error() string {
	s := f.What + "; " + f.Do
	switch {
	case f.Line > 0 && f.File == "":
		return fmt.Sprintf("line %d, column %d: %s", f.Line, f.Column, s)
	case f.Line > 0:
		return fmt.Sprintf("%s:%d:%d: %s", f.File, f.Line, f.Column, s)
	case f.File != "":
		return f.File + ": " + s
	}
	return s
}

// Faults returns the faults inside an error of Read, Parse, WriteSeed or Starter, in the order of
// the file, and nil when the error is of another kind (a file that cannot be opened).
func Faults(err error) []*Fault {
	var fs []*Fault
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range joined.Unwrap() {
			fs = append(fs, Faults(e)...)
		}
		return fs
	}
	var f *Fault
	if errors.As(err, &f) {
		fs = append(fs, f)
	}
	return fs
}

// ledger gathers the faults of one file.
type ledger struct {
	file  string
	data  []byte // the file without its byte order mark; offsets count from its first byte
	lines []int  // offsets at which lines begin
	found []finding
}

// finding is a fault whose place is still an offset into the data.
type finding struct {
	at       int
	what, do string
}

const (
	// wholeFile stands for the offset of a fault that has no place in the file.
	wholeFile = math.MaxInt
	// mostFindings bounds what is gathered from a file that is no plan at all.
	mostFindings = 1000
	// mostFaults bounds what a person is shown at once.
	mostFaults = 100
)

func newLedger(file string, data []byte) *ledger {
	l := &ledger{file: file, data: data, lines: []int{0}}
	for i, c := range data {
		if c == '\n' {
			l.lines = append(l.lines, i+1)
		}
	}
	return l
}

// add notes a fault at a byte offset into the data.
func (l *ledger) add(at int, what, do string) {
	if !l.full() {
		l.found = append(l.found, finding{at, what, do})
	}
}

func (l *ledger) full() bool { return len(l.found) >= mostFindings }

// line returns the line, from one, in which a byte offset stands.
func (l *ledger) line(at int) int {
	i, exact := slices.BinarySearch(l.lines, at)
	if exact {
		return i + 1
	}
	return i
}

// err returns the faults in the order of the file, those without a place last, joined; nil when
// there are none. Columns count characters.
func (l *ledger) err() error {
	slices.SortStableFunc(l.found, func(a, b finding) int { return cmp.Compare(a.at, b.at) })
	var errs []error
	for i, f := range l.found {
		if i == mostFaults {
			errs = append(errs, &Fault{File: l.file, What: fmt.Sprintf("%d more faults follow", len(l.found)-i), Do: "mend these first"})
			break
		}
		fault := &Fault{File: l.file, What: f.what, Do: f.do}
		if f.at != wholeFile {
			fault.Line = l.line(f.at)
			fault.Column = utf8.RuneCount(l.data[l.lines[fault.Line-1]:f.at]) + 1
		}
		errs = append(errs, fault)
	}
	return errors.Join(errs...)
}
