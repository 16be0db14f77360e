// Package fault says what is wrong with a file that a person wrote: where, what was found, what to do.
// Readers of plans and of tables fill in a Fault; commands print its line. In and out are this type
// alone. Read fault.go.
package fault

import (
	"errors"
	"fmt"
	"strings"
)

// A Fault is one thing wrong with a file, and what to do about it. In a table Row says where; in any
// other text Line does, and Row is 0.
type Fault struct {
	File   string // as given by the caller; "" when there is none
	Row    int    // of a table, as a spreadsheet counts, from 1; 0: the table as a whole, or no table
	Line   int    // line of the file, in a table that on which the row starts, from 1; 0 if unknown, or the file as a whole
	Column int    // from 1: of the table, or character of the line; 0: the row or file as a whole
	Name   string // heading of the column of a table, "" if it has none
	Found  string // what is wrong, in words
	Do     string // what to do about it
}

// Error gives place, finding and remedy in one line:
//
//	tank.csv: row 5 (line 7), column 9 "spin_up": "fast" is not a number; write …
//	campaign.toml:12:10: better is "low"; did you mean "lower"?
//
// The line of a row is given only where it is not the number of the row.
func (f *Fault) Error() string {
	text := f.Found
	if f.Do != "" {
		text += "; " + f.Do
	}
	if place := f.place(); place != "" {
		return place + ": " + text
	}
	return text
}

// place is where the fault is, "" for one without a place.
func (f *Fault) place() string {
	switch {
	case f.Row == 0 && f.Line > 0 && f.File == "":
		return fmt.Sprintf("line %d, column %d", f.Line, f.Column)
	case f.Row == 0 && f.Line > 0:
		return fmt.Sprintf("%s:%d:%d", f.File, f.Line, f.Column)
	}
	var parts []string
	if f.Row > 0 {
		row := fmt.Sprintf("row %d", f.Row)
		if f.Line > 0 && f.Line != f.Row {
			row += fmt.Sprintf(" (line %d)", f.Line)
		}
		parts = append(parts, row)
	}
	if f.Column > 0 {
		column := fmt.Sprintf("column %d", f.Column)
		if f.Name != "" {
			column += fmt.Sprintf(" %q", f.Name)
		}
		parts = append(parts, column)
	}
	place := strings.Join(parts, ", ")
	if f.File != "" && place != "" {
		return f.File + ": " + place
	}
	return f.File + place
}

// List is all that is wrong with a file, in the order of its rows. It is never
// an empty error: readers return nil instead.
type List []Fault

// Shown is how many faults the Error of a List spells out: more do not help a person.
const Shown = 20

// Error gives one fault a line, the first twenty of them.
func (l List) Error() string {
	lines := make([]string, 0, min(len(l), Shown+1))
	for i := range l {
		if i == Shown {
			lines = append(lines, fmt.Sprintf("%s: and %d more", l[i].File, len(l)-Shown))
			break
		}
		lines = append(lines, l[i].Error())
	}
	return strings.Join(lines, "\n")
}

// Unwrap lets errors.As find the first *Fault.
func (l List) Unwrap() []error {
	errs := make([]error, len(l))
	for i := range l {
		errs[i] = &l[i]
	}
	return errs
}

// In returns the faults inside an error, in its order, and nil when the error is of another kind (a file
// that cannot be opened).
func In(err error) []*Fault {
	var fs []*Fault
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range joined.Unwrap() {
			fs = append(fs, In(e)...)
		}
		return fs
	}
	var f *Fault
	if errors.As(err, &f) {
		fs = append(fs, f)
	}
	return fs
}
