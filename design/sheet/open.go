package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/disk"
	"fairrun/design/fault"
	"fairrun/design/journal"
	"fairrun/design/plan"
	"fairrun/design/store"
	"fairrun/design/table"
	"fairrun/stats/words"
)

// ErrNotDrawn is wrapped in the error of Open and Record for a folder without a run
// sheet.
var ErrNotDrawn = errors.New("there is no run sheet yet; draw one with fairrun sheet")

// errGone is the error for a folder whose run sheet is gone, but not the record of its draw.
var errGone = fmt.Errorf("%w: it is made again from the record of the draw and the journal", ErrNotDrawn)

// Open reads the campaign in a folder: plan, draw record and run sheet. If anything is
// wrong it returns all of it: faults of the plan as package design gives them, others
// as [fault.List].
func Open(dir string) (*Sheet, error) {
	s, faults, err := load(dir)
	if err != nil {
		return nil, err
	}
	if len(faults) > 0 {
		return nil, faults
	}
	return s, nil
}

// load reads the campaign. Faults are what is wrong inside a sheet that could be read;
// runs without a usable row then have Row 0.
func load(dir string) (*Sheet, fault.List, error) {
	planPath, sheetPath, drawPath := filepath.Join(dir, PlanFile), filepath.Join(dir, File), filepath.Join(dir, DrawFile)
	files := store.Read(dir, store.Limit, PlanFile, File, DrawFile, journal.File)
	campaign, planErr := plan.Of(planPath, files[0].Data, files[0].Err)
	if errors.Is(files[1].Err, fs.ErrNotExist) {
		err := ErrNotDrawn
		if files[2].Err == nil {
			err = errGone
		}
		return nil, nil, errors.Join(planErr, fmt.Errorf("%s: %w", sheetPath, err))
	}
	doc, sheetErr := parseSheet(sheetPath, files[1])
	draw, drawErr := readDraw(drawPath, files[2])
	kept, keptErr := readJournal(dir, files[3])
	err := errors.Join(planErr, drawErr, sheetErr, keptErr)
	if err != nil {
		return nil, nil, err
	}
	if err := draw.verify(dir, files[2].Data, kept); err != nil {
		return nil, nil, err
	}
	changes, err := changesSince(draw, campaign)
	if err != nil {
		return nil, nil, err
	}
	s := &Sheet{Campaign: campaign, Draw: draw, Changes: changes, journal: kept, planText: files[0].Data, drawText: files[2].Data}
	faults := s.match(planPath, doc)
	s.Warnings = append(s.Warnings, conflictCopies(dir)...)
	if !s.columns.gone() && len(s.Runs) > 0 {
		s.Warnings = append(s.Warnings, s.warnOfVanished(vanished(s.differences()))...)
	}
	return s, faults, nil
}

// parseSheet reads the table of a run sheet.
func parseSheet(path string, c store.Content) (*table.Document, error) {
	if e, large := errors.AsType[*disk.SizeError](c.Err); large {
		return nil, table.TooLarge(path, e.Size, maxBytes)
	}
	if n := int64(len(c.Data)); n > maxBytes {
		return nil, table.TooLarge(path, n, maxBytes)
	}
	if c.Err != nil {
		return nil, c.Err
	}
	return table.Parse(path, c.Data)
}

func changesSince(d *Draw, c *design.Plan) ([]string, error) {
	if d.Hash == c.Hash() {
		return nil, nil
	}
	return design.Differences(d.Plan, c.Canonical())
}

// match fills Runs and Warnings from doc, and returns what is wrong.
func (s *Sheet) match(planPath string, doc *table.Document) fault.List {
	s.doc = doc
	faults := append(s.factorsAsDrawn(planPath), s.sharesAsDrawn(planPath)...)
	if len(faults) > 0 {
		return faults // all else would follow from it
	}
	s.columns, faults = findColumns(s.Campaign, s.Draw.Order.Plan, doc)
	faults = append(faults, s.plan(planPath)...)
	r := &rowReader{s: s, doc: doc, columns: &s.columns}
	faults = append(faults, r.readAll()...)
	sortFaults(faults)
	sortFaults(r.warnings)
	s.Warnings = r.warnings
	return faults
}

func sortFaults(faults fault.List) {
	slices.SortStableFunc(faults, func(a, b fault.Fault) int {
		return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(a.Column, b.Column))
	})
}

// asDrawn is the remedy for a plan that the sheet no longer follows from.
const asDrawn = "put factors and levels back as they were drawn, or begin a new campaign in another folder"

// factorsAsDrawn is the fault of a plan whose factors are not those drawn.
func (s *Sheet) factorsAsDrawn(planPath string) fault.List {
	drawn := s.Draw.factors()
	var names []string
	for _, f := range s.Campaign.Factors {
		names = append(names, f.Name)
	}
	if slices.Equal(drawn, names) {
		return nil
	}
	return fault.List{{
		File:  planPath,
		Found: fmt.Sprintf("the factors are %s, those of the sheet %s", strings.Join(words.Quoted(names), ", "), strings.Join(words.Quoted(drawn), ", ")),
		Do:    asDrawn,
	}}
}

// plan fills Runs with what was drawn. A treatment that was drawn and is no longer in
// the plan is a fault of the plan.
func (s *Sheet) plan(planPath string) fault.List {
	key := func(levels []string) string { return strings.Join(levels, "\x00") }
	index := map[string]int{}
	for i, t := range s.Campaign.Treatments() {
		index[key(t.Levels)] = i
	}
	var faults fault.List
	s.Runs = make([]Run, len(s.Draw.Runs))
	for i, p := range s.Draw.Runs {
		t, ok := index[key(p.Levels)]
		if !ok {
			index[key(p.Levels)] = 0 // said once
			faults = append(faults, fault.Fault{
				File:  planPath,
				Found: fmt.Sprintf("the treatment %q, drawn for run %d, is no longer in the plan", strings.Join(p.Levels, " "), p.Run),
				Do:    asDrawn,
			})
		}
		s.Runs[i] = Run{Run: p.Run, Block: p.Block, Position: p.Position, Role: p.Role, WholePlot: p.WholePlot,
			Session: p.Session, Item: p.Item, Specimen: p.Specimen, Treatment: t, Levels: p.Levels,
			Readings: make([]string, len(s.Campaign.Readings)),
			Values:   make([]string, len(s.Campaign.Responses)),
		}
	}
	return faults
}
