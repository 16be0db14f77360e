package sheet

import (
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"fairrun/design/fault"
	"fairrun/design/journal"
	"fairrun/design/store"
)

// History is what the journal has of a run of the sheet, the oldest first.
func (s *Sheet) History(run int) (list []journal.Entry) {
	for _, e := range s.journal.Entries {
		switch {
		case e.By == journal.Draw:
			list = nil // of another sheet
		case e.Run == run:
			list = append(list, e)
		}
	}
	return list
}

// lastRecorded is the last record that was not taken back; nil if there is none.
func (s *Sheet) lastRecorded() *journal.Entry {
	undone := 0
	for i := len(s.journal.Entries) - 1; i >= 0; i-- {
		switch e := &s.journal.Entries[i]; {
		case e.By == journal.Draw:
			return nil
		case e.By == journal.Undo:
			undone++
		case e.By == journal.Record && undone > 0:
			undone--
		case e.By == journal.Record:
			return e
		}
	}
	return nil
}

// Undo takes back what was recorded last in the sheet of a folder and returns that: its cells hold again
// what they did before. It refuses if one of them was changed since. What was recorded before that is taken
// back by a second Undo.
func Undo(dir string, now time.Time) (*journal.Entry, error) {
	folder, err := store.Lock(dir)
	if err != nil {
		return nil, err
	}
	defer folder.Release()
	s, err := Open(dir)
	if err != nil {
		return nil, err
	}
	last := s.lastRecorded()
	if last == nil {
		return nil, errors.New("there is nothing to take back: the journal has no record of this sheet")
	}
	lines := s.edits(now)
	old := s.doc.Bytes()
	undo := journal.Entry{Time: now, By: journal.Undo, Run: last.Run}
	row := s.rowOf(last.Run)
	var changed fault.List
	for _, c := range last.Cells {
		col := s.doc.Column(c.Column)
		if col < 0 || row < 0 {
			return nil, fmt.Errorf("%s: there is no column %q in the sheet any more", s.doc.File, c.Column)
		}
		if is := cellText(s.doc, &s.columns, row, col); !sameText(&s.columns, col, is, c.New) {
			f := s.doc.Place(row, col)
			f.Found, f.Do = fmt.Sprintf("%s was recorded as %q and is %q now; nothing was taken back", c.Column, c.New, is), "correct it with fairrun record"
			changed = append(changed, f)
			continue
		}
		put(s.doc, &s.columns, row, col, c.Old)
		undo.Cells = append(undo.Cells, journal.Cell{Column: c.Column, Old: c.New, New: c.Old})
	}
	if len(changed) > 0 {
		return nil, changed
	}
	err = folder.Replace(store.Change{Path: s.doc.File, Old: old, Data: s.doc.Bytes()},
		store.Change{Path: filepath.Join(dir, journal.File), Append: true, Data: journal.Lines(append(lines, undo))})
	return last, err
}

// rowOf is the index of a run's row in the document, or -1.
func (s *Sheet) rowOf(run int) int {
	r := rowReader{s: s, doc: s.doc, columns: &s.columns}
	for row := range s.doc.Rows() {
		if n, ok := r.whole(row, s.columns.run); ok && n == run {
			return row
		}
	}
	return -1
}
