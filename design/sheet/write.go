package sheet

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/journal"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/store"
	"fairrun/design/table"
	"fairrun/stats/words"
)

const wrongOrder = "sheet: order and plan differ in blocks, runs or treatments"

// Write puts a new run sheet, in the given dialect, and the record of its draw into
// the folder of a campaign, and the seed into its plan if that has none: all of it or nothing.
// A sheet that is there already is replaced only if nobody has entered
// anything into it. The time of the draw is recorded as given, to the second.
// Warnings say in words what a person should know of the folder.
//
// It panics if d is not an order for c.
func Write(dir string, c *design.Plan, d *order.Drawn, at time.Time, dialect table.Dialect) (warnings []string, err error) {
	checkShape(c, d)
	if err := dialect.Check(); err != nil {
		return nil, err
	}
	folder, err := store.Lock(dir)
	if err != nil {
		return nil, err
	}
	defer folder.Release()

	path := filepath.Join(dir, File)
	if err := refuseResults(dir, c); err != nil {
		return nil, err
	}
	if err := refuseKept(dir); err != nil {
		return nil, err
	}
	old := store.Read(dir, maxBytes, PlanFile, File, DrawFile)
	draw := newDraw(c, d, at)
	changes := []store.Change{
		{Path: path, Data: newSheet(path, dialect, c, draw).Bytes()},
		{Path: filepath.Join(dir, DrawFile), Data: draw.encode()},
	}
	for i := range changes {
		o := old[i+1]
		if o.Err != nil && !errors.Is(o.Err, fs.ErrNotExist) {
			return nil, o.Err
		}
		changes[i].Old, changes[i].Absent = o.Data, o.Err != nil
	}
	if changes[0].Absent && !changes[1].Absent {
		return nil, fmt.Errorf("%s: %w", path, errGone)
	}
	if c.Seed == nil {
		seeded, err := seed(filepath.Join(dir, PlanFile), old[0], c, d.Seed)
		if err != nil {
			return nil, err
		}
		changes = append(changes, *seeded)
	}
	changes = append(changes, store.Change{Path: filepath.Join(dir, journal.File), Append: true,
		Data: drawEntry(draw, journal.Draw, at, len(d.Blocks)).Line()})
	return folder.Warnings, folder.Replace(changes...)
}

// seed is the change that puts a seed into the plan, which has to be the one that was drawn.
func seed(path string, old store.Content, c *design.Plan, seed uint64) (*store.Change, error) {
	if old.Err != nil {
		return nil, old.Err
	}
	now, err := plan.Parse(path, old.Data)
	if err != nil {
		return nil, err
	}
	if now.Hash() != c.Hash() {
		return nil, fmt.Errorf("%s: %w", path, store.ErrSaved)
	}
	text, err := plan.SetSeed(path, old.Data, seed)
	return &store.Change{Path: path, Old: old.Data, Data: text}, err
}

func checkShape(c *design.Plan, d *order.Drawn) {
	treatments := len(c.Treatments())
	if len(d.Blocks) != c.Block.Count {
		panic(wrongOrder)
	}
	for _, block := range d.Blocks {
		if len(block) != c.RunsPerBlock() {
			panic(wrongOrder)
		}
		for _, t := range block {
			if t < 0 || t >= treatments {
				panic(wrongOrder)
			}
		}
	}
}

// newSheet is the sheet of a draw with nothing entered yet.
func newSheet(path string, dialect table.Dialect, c *design.Plan, draw *Draw) *table.Document {
	header := headings(c, draw.Order.Plan)
	doc := table.New(path, dialect, header)
	doc.Append(sheetRows(c, header, draw.Runs))
	return doc
}

// sheetRows are the rows of planned runs in a sheet with the columns given, and which of its columns
// hold numbers.
func sheetRows(c *design.Plan, header []string, runs []Planned) (rows [][]string, numeric []bool) {
	numeric = make([]bool, len(header))
	at := make([]int, len(c.Factors))
	for k, f := range c.Factors {
		at[k] = slices.Index(header, f.Name)
		numeric[at[k]] = f.Numeric
	}
	put := func(row []string, name, text string) {
		if col := slices.Index(header, name); col >= 0 {
			row[col] = text
		}
	}
	for _, r := range runs {
		row := make([]string, len(header))
		put(row, "run", strconv.Itoa(r.Run))
		put(row, "block", strconv.Itoa(r.Block))
		put(row, "position", strconv.Itoa(r.Position))
		put(row, "role", string(r.Role))
		if r.WholePlot > 0 {
			put(row, "whole_plot", strconv.Itoa(r.WholePlot))
		}
		if r.Session > 0 {
			put(row, c.Session.Name, strconv.Itoa(r.Session))
		}
		if r.Item > 0 {
			put(row, c.Items.Name, c.Items.Label(r.Item))
		}
		if r.Specimen > 0 {
			put(row, c.Specimens.Name, strconv.Itoa(r.Specimen))
		}
		for k, level := range r.Levels {
			row[at[k]] = level
		}
		rows = append(rows, row)
	}
	return rows, numeric
}

// refuseKept returns an error if the journal says that there are results, whatever the sheet has.
func refuseKept(dir string) error {
	kept, err := readJournal(dir, store.Read(dir, store.Limit, journal.File)[0])
	if err != nil {
		return err
	}
	runs := map[int]bool{}
	for _, at := range kept.Places() {
		if text, _ := kept.Holds(at); text != "" {
			runs[at.Run] = true
		}
	}
	if len(runs) == 0 {
		return nil
	}
	return fault.List{{File: filepath.Join(dir, journal.File),
		Found: fmt.Sprintf("results of %s were recorded, and are not in the sheet", words.Count(len(runs), "run")),
		Do:    "\"fairrun repair\" puts them back; for a new draw all the same, move " + File + ", " + DrawFile + " and " + journal.File + " to another folder first"}}
}

// refuseResults returns an error if the folder's sheet holds anything that a person
// entered.
func refuseResults(dir string, c *design.Plan) error {
	path := filepath.Join(dir, File)
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if info.Size() == 0 {
		return nil
	}
	const moveAway = "a new draw would lose it: move " + File + " and " + DrawFile + " to another folder first; what was drawn is shown by fairrun sheet --show"
	doc, err := table.Read(path, maxBytes)
	if err != nil {
		return fmt.Errorf("there is a sheet that cannot be read, and %s\n%w", moveAway, err)
	}
	planned := []string{"run", "block", "position", "role", "whole_plot"}
	for _, f := range c.Factors {
		planned = append(planned, f.Name)
	}
	planned = append(planned, shares(c).names()...)
	draw, err := readDraw(filepath.Join(dir, DrawFile), store.Read(dir, maxBytes, DrawFile)[0])
	if err == nil {
		planned = append(planned, draw.factors()...)
		planned = append(planned, draw.shares().names()...)
	}
	entered := 0
	for row := range doc.Rows() {
		for col, name := range doc.Header {
			if doc.Cell(row, col) != "" && !slices.Contains(planned, name) {
				entered++
				break
			}
		}
	}
	if entered == 0 {
		return nil
	}
	runs := "1 run has"
	if entered > 1 {
		runs = fmt.Sprintf("%d runs have", entered)
	}
	return fault.List{{File: path, Found: runs + " results or notes in the sheet", Do: moveAway}}
}
