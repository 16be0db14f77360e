package table

import (
	"fmt"
	"strings"
)

// A Problem is one thing wrong with a file, and what to do about it.
type Problem struct {
	File   string
	Row    int    // as a spreadsheet counts, from 1; 0: the file as a whole
	Line   int    // line of the file on which the row starts, from 1; 0 if unknown
	Column int    // from 1; 0: the row as a whole
	Name   string // heading of the column, "" if it has none
	Found  string // what is wrong, in words
	Do     string // what to do about it
}

// Error gives place, finding and remedy in one line:
//
//	tank.csv: row 5 (line 7), column 9 "spin_up": "fast" is not a number; write …
//
// The line is given only where it is not the row.
func (f *Problem) Error() string {
	var b strings.Builder
	b.WriteString(f.File)
	place := f.place()
	if place != "" {
		b.WriteString(": ")
		b.WriteString(place)
	}
	b.WriteString(": ")
	b.WriteString(f.Found)
	if f.Do != "" {
		b.WriteString("; ")
		b.WriteString(f.Do)
	}
	return b.String()
}

func (f *Problem) place() string {
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
	return strings.Join(parts, ", ")
}

// Problems is all that is wrong with a file, in the order of its rows. It is never
// an empty error: readers return nil instead.
type Problems []Problem

// shownProblems is how many Error spells out: more do not help a person.
const shownProblems = 20

// maxFaults is where readers give up: a file with so many faults is the wrong
// file, or has one fault in every row.
const maxFaults = 1000

// Error gives one fault a line, the first twenty of them.
func (fs Problems) Error() string {
	lines := make([]string, 0, min(len(fs), shownProblems+1))
	for i := range fs {
		if i == shownProblems {
			lines = append(lines, fmt.Sprintf("%s: and %d more", fs[i].File, len(fs)-shownProblems))
			break
		}
		lines = append(lines, fs[i].Error())
	}
	return strings.Join(lines, "\n")
}

// Unwrap lets errors.As find the first *Problem.
func (fs Problems) Unwrap() []error {
	errs := make([]error, len(fs))
	for i := range fs {
		errs[i] = &fs[i]
	}
	return errs
}
