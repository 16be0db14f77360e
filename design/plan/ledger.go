package plan

import (
	"fairrun/design/fault"

	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"unicode/utf8"
)

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
			errs = append(errs, &fault.Fault{File: l.file, Found: fmt.Sprintf("%d more faults follow", len(l.found)-i), Do: "mend these first"})
			break
		}
		fault := &fault.Fault{File: l.file, Found: f.what, Do: f.do}
		if f.at != wholeFile {
			fault.Line = l.line(f.at)
			fault.Column = utf8.RuneCount(l.data[l.lines[fault.Line-1]:f.at]) + 1
		}
		errs = append(errs, fault)
	}
	return errors.Join(errs...)
}
