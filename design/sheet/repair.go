package sheet

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"fairrun/design"
	"fairrun/design/journal"
	"fairrun/design/plan"
	"fairrun/design/store"
	"fairrun/design/table"
)

// Rebuild writes the run sheet of a folder again from the record of the draw, with all that the journal
// says was filled in. rebuilt is false if there is no record, or a sheet: then nothing is written.
func Rebuild(dir string, dialect table.Dialect, at time.Time) (rebuilt bool, warnings []string, err error) {
	if err := dialect.Check(); err != nil {
		return false, nil, err
	}
	folder, err := store.Lock(dir)
	if err != nil {
		return false, nil, err
	}
	defer folder.Release()
	planPath, path, drawPath := filepath.Join(dir, PlanFile), filepath.Join(dir, File), filepath.Join(dir, DrawFile)
	files := store.Read(dir, store.Limit, PlanFile, File, DrawFile, journal.File)
	if files[1].Err == nil || errors.Is(files[2].Err, fs.ErrNotExist) {
		return false, folder.Warnings, nil
	}
	if !errors.Is(files[1].Err, fs.ErrNotExist) { // it may be there
		return false, nil, files[1].Err
	}
	c, err := plan.Of(planPath, files[0].Data, files[0].Err)
	if err != nil {
		return false, nil, err
	}
	draw, err := readDraw(drawPath, files[2])
	if err != nil {
		return false, nil, err
	}
	kept, err := readJournal(dir, files[3])
	if err != nil {
		return false, nil, err
	}
	if err := draw.verify(dir, files[2].Data, kept); err != nil {
		return false, nil, err
	}
	s := &Sheet{Campaign: c, Draw: draw, journal: kept}
	faults := append(s.factorsAsDrawn(planPath), s.sharesAsDrawn(planPath)...)
	if faults == nil {
		faults = s.plan(planPath)
	}
	if len(faults) > 0 {
		return false, nil, fmt.Errorf("%w\nthe run sheet is gone and cannot be made again for this plan; for a new draw, move %s and %s to another folder", faults, drawPath, journal.File)
	}
	data := s.filled(path, dialect, c).Bytes()
	// What comes out has to be a sheet that can be read.
	doc, err := table.Parse(path, data)
	if err != nil {
		return false, nil, err
	}
	after := &Sheet{Campaign: c, Draw: draw, journal: kept}
	if faults := after.match(planPath, doc); len(faults) > 0 {
		return false, nil, faults
	}
	err = folder.Replace(store.Change{Path: path, Absent: true, Data: data})
	return err == nil, folder.Warnings, err
}

// filled is the sheet of the draw with what the journal says was filled in. The person's own columns
// come last.
func (s *Sheet) filled(path string, dialect table.Dialect, c *design.Plan) *table.Document {
	header := headings(c, s.Draw.Order.Plan)
	var own []string
	for _, at := range s.journal.Places() {
		if text, _ := s.journal.Holds(at); text != "" && !slices.Contains(header, at.Column) && !slices.Contains(own, at.Column) {
			own = append(own, at.Column)
		}
	}
	slices.Sort(own)
	header = append(header, own...)
	doc := table.New(path, dialect, header)
	doc.Append(sheetRows(c, header, s.Draw.Runs))
	cs, _ := findColumns(c, s.Draw.Order.Plan, doc)
	for row, r := range s.Draw.Runs {
		for col, column := range header {
			if text, known := s.journal.Holds(journal.Place{Run: r.Run, Column: column}); known && text != "" && !cs.planned(col) {
				put(doc, &cs, row, col, text)
			}
		}
	}
	return doc
}

// put puts a text of the journal into a cell.
func put(doc *table.Document, cs *columns, row, col int, text string) {
	if _, _, ok := (table.Dialect{}).Number(text); ok && cs.number(col) {
		doc.SetNumber(row, col, text)
		return
	}
	doc.Set(row, col, text)
}

// readJournal reads the journal that was read from a folder; none is an empty one.
func readJournal(dir string, c store.Content) (*journal.Journal, error) {
	if c.Err != nil && !errors.Is(c.Err, fs.ErrNotExist) {
		return nil, c.Err
	}
	return journal.Parse(filepath.Join(dir, journal.File), c.Data)
}

// Repaired says what Repair found and did.
type Repaired struct {
	Sheet    *Sheet
	Rebuilt  bool     // the sheet was gone, and is made again
	Vanished []string // in words: cells whose recorded value the sheet did not have, as an old copy of it
	Edited   []string // in words: cells that a person changed in the sheet; they stay
	Damaged  []int    // lines of the journal that cannot be relied on
	Warnings []string
}

// Repair compares the sheet of a folder with the journal and puts back what vanished from it; with keep the
// sheet stays as it is, and the journal takes it over. A sheet that is gone is made again. What killed
// commands left is finished or taken back, and removed.
func Repair(dir string, keep bool, at time.Time) (*Repaired, error) {
	r := &Repaired{}
	rebuilt, _, err := Rebuild(dir, table.Dialect{}, at)
	if err != nil {
		return nil, err
	}
	r.Rebuilt = rebuilt
	folder, err := store.Lock(dir)
	if err != nil {
		return nil, err
	}
	defer folder.Release()
	s, err := Open(dir)
	if err != nil {
		return nil, err
	}
	r.Damaged, r.Warnings = s.journal.Damaged, folder.Warnings
	all := s.differences()
	lost := vanished(all)
	for _, d := range all {
		text := fmt.Sprintf("run %d, %s: the journal has %q, the sheet %q", d.run, d.column, d.kept, d.now)
		if d.vanished {
			r.Vanished = append(r.Vanished, text)
		} else {
			r.Edited = append(r.Edited, text)
		}
	}
	old := s.doc.Bytes()
	var lines []journal.Entry
	if keep {
		lines = entries(all, journal.Edit, at)
	} else {
		lines = s.edits(at)
		doc, err := table.Parse(s.doc.File, old)
		if err != nil {
			return nil, err
		}
		for _, d := range lost {
			put(doc, &s.columns, d.row, d.col, d.kept)
		}
		s.doc = doc
		for i, d := range lost {
			lost[i].kept, lost[i].now = d.now, d.kept
		}
		lines = append(lines, entries(lost, journal.Repair, at)...)
	}
	var changes []store.Change
	if data := s.doc.Bytes(); len(lost) > 0 && !keep {
		changes = append(changes, store.Change{Path: s.doc.File, Old: old, Data: data})
	}
	if len(lines) > 0 {
		changes = append(changes, store.Change{Path: filepath.Join(dir, journal.File), Append: true, Data: journal.Lines(lines)})
	}
	if len(changes) > 0 {
		if err := folder.Replace(changes...); err != nil {
			return nil, err
		}
	}
	r.Sheet, err = Open(dir)
	return r, err
}
