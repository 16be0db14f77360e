package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairrun/design/fault"
	"fairrun/design/journal"
	"fairrun/design/table"
)

// cellText is what a cell holds in the words of a journal: a number with a point, a time with its zone, a
// status as the program writes it.
func cellText(doc *table.Document, cs *columns, row, col int) string {
	text := strings.TrimSpace(doc.Cell(row, col))
	switch {
	case cs.number(col):
		if point, _, ok := doc.Dialect.Number(text); ok {
			return point
		}
	case col == cs.status:
		if status, ok := parseStatus(text); ok {
			return string(status)
		}
	case col == cs.doneAt:
		if at, ok := parseTime(text); ok {
			return at.Format(time.RFC3339)
		}
	}
	return text
}

// sameText reports whether two texts of a column say the same, whatever spreadsheet program rewrote one
// of them: a number with other digits, a time without its zone or its seconds.
func sameText(cs *columns, col int, a, b string) bool {
	if a == b || strings.EqualFold(a, b) {
		return true
	}
	if col == cs.doneAt {
		const minute = "2006-01-02 15:04"
		x, okX := parseTime(a)
		y, okY := parseTime(b)
		return okX && okY && (x.Equal(y) || x.Format(minute) == y.Format(minute))
	}
	x, errX := strconv.ParseFloat(strings.Replace(a, ",", ".", 1), 64)
	y, errY := strconv.ParseFloat(strings.Replace(b, ",", ".", 1), 64)
	return errX == nil && errY == nil && x == y
}

// difference is a cell that does not hold what the journal says.
type difference struct {
	run, row, col int // row is the index in the document
	column        string
	kept, now     string // what the journal says and what the sheet has
	vanished      bool   // the sheet has what the cell held before, as an old copy of the sheet does
}

// differences compares the cells to fill in with the journal, in the order of runs. Rows whose run cannot be
// read are passed over.
func (s *Sheet) differences() (all []difference) {
	cs := &s.columns
	r := rowReader{s: s, doc: s.doc, columns: cs}
	rows := map[int]int{}
	for row := range s.doc.Rows() {
		n, ok := r.whole(row, cs.run)
		if _, twice := rows[n]; !ok || twice || n < 1 || n > len(s.Runs) {
			continue
		}
		rows[n] = row
		for col, column := range s.doc.Header {
			if cs.planned(col) || column == "" {
				continue
			}
			at := journal.Place{Run: n, Column: column}
			kept, _ := s.journal.Holds(at)
			now := cellText(s.doc, cs, row, col)
			if sameText(cs, col, kept, now) {
				continue
			}
			was := s.journal.Held(at, func(text string) bool { return sameText(cs, col, text, now) })
			all = append(all, difference{run: n, row: row, col: col, column: column, kept: kept, now: now, vanished: kept != "" && was})
		}
	}
	slices.SortStableFunc(all, func(a, b difference) int { return cmp.Or(a.run-b.run, a.col-b.col) })
	return all
}

// vanished are the differences that an old copy of the sheet makes.
func vanished(all []difference) []difference {
	return slices.DeleteFunc(slices.Clone(all), func(d difference) bool { return !d.vanished })
}

// warnOfVanished says which results were recorded and are in the sheet no more.
func (s *Sheet) warnOfVanished(lost []difference) fault.List {
	if len(lost) == 0 {
		return nil
	}
	var parts []string
	for _, d := range lost[:min(len(lost), 5)] {
		parts = append(parts, fmt.Sprintf("run %d %s was %q and is %q", d.run, d.column, d.kept, d.now))
	}
	if more := len(lost) - len(parts); more > 0 {
		parts = append(parts, fmt.Sprintf("and %d more", more))
	}
	return fault.List{{
		File:  s.doc.File,
		Found: "an old copy of the sheet seems to have been saved over what was recorded: " + strings.Join(parts, ", "),
		Do:    `"fairrun repair" puts it back; if it was taken out on purpose, "fairrun repair --keep-sheet" says so`,
	}}
}

// entries are lines of the journal for differences, one a run: what the sheet has now.
func entries(all []difference, by journal.By, at time.Time) (list []journal.Entry) {
	for _, d := range all {
		if n := len(list); n == 0 || list[n-1].Run != d.run {
			list = append(list, journal.Entry{Time: at, By: by, Run: d.run})
		}
		e := &list[len(list)-1]
		e.Cells = append(e.Cells, journal.Cell{Column: d.column, Old: d.kept, New: d.now})
	}
	return list
}

// edits are lines for what a person changed in the sheet since the program wrote last. What an old copy
// took away is none of it.
func (s *Sheet) edits(at time.Time) []journal.Entry {
	all := slices.DeleteFunc(s.differences(), func(d difference) bool { return d.vanished })
	list := entries(all, journal.Edit, at)
	hash := recordHash(s.drawText)
	if !slices.ContainsFunc(s.journal.Entries, func(e journal.Entry) bool { return e.Record == hash }) {
		begin := drawEntry(s.Draw, journal.Begin, at, len(s.Draw.Order.Blocks))
		begin.Record = hash
		list = append([]journal.Entry{begin}, list...)
	}
	return list
}

// drawEntry is the line for a draw.
func drawEntry(d *Draw, by journal.By, at time.Time, blocks int) journal.Entry {
	return journal.Entry{Time: at, By: by, Hash: d.Hash, Plan: d.Plan, Seed: d.Order.Seed, Version: d.Order.Version, Blocks: blocks, Record: recordHash(d.encode())}
}
