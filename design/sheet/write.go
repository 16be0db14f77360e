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
	"fairrun/design/order"
	"fairrun/design/table"
)

const wrongOrder = "sheet: order and plan differ in blocks, runs or treatments"

// Write puts a new run sheet, in the given dialect, and the record of its draw into
// the folder of a campaign. Both are complete on the disk before either takes its
// place. A sheet that is there already is replaced only if nobody has entered
// anything into it. The time of the draw is recorded as given, to the second.
//
// It panics if d is not an order for c.
func Write(dir string, c *design.Campaign, d *order.Drawn, at time.Time, dialect table.Dialect) error {
	checkShape(c, d)
	err := dialect.Check()
	if err != nil {
		return err
	}
	release, err := lock(dir)
	if err != nil {
		return err
	}
	defer release()

	path := filepath.Join(dir, File)
	err = refuseResults(dir, c)
	if err != nil {
		return err
	}
	draw := newDraw(c, d, at)
	drawn, err := stage(filepath.Join(dir, DrawFile), draw.encode())
	if err != nil {
		return err
	}
	filled, err := stage(path, newSheet(path, dialect, c, draw).Bytes())
	if err != nil {
		drawn.discard()
		return err
	}
	err = drawn.commit()
	if err != nil {
		filled.discard()
		return err
	}
	return filled.commit()
}

func checkShape(c *design.Campaign, d *order.Drawn) {
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
func newSheet(path string, dialect table.Dialect, c *design.Campaign, draw *Draw) *table.Document {
	header := headings(c)
	numeric := make([]bool, len(header))
	for k, f := range c.Factors {
		numeric[3+k] = f.Numeric
	}
	rows := make([][]string, len(draw.Runs))
	for i, r := range draw.Runs {
		row := append(make([]string, 0, len(header)), strconv.Itoa(r.Run), strconv.Itoa(r.Block), strconv.Itoa(r.Position))
		row = append(row, r.Levels...)
		rows[i] = row[:len(header)]
	}
	doc := table.New(path, dialect, header)
	doc.Append(rows, numeric)
	return doc
}

// refuseResults returns an error if the folder's sheet holds anything that a person
// entered.
func refuseResults(dir string, c *design.Campaign) error {
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
	const moveAway = "a new draw would lose it: move " + File + " and " + DrawFile + " to another folder first"
	doc, err := table.Read(path, maxBytes)
	if err != nil {
		return fmt.Errorf("there is a sheet that cannot be read, and %s\n%w", moveAway, err)
	}
	planned := []string{"run", "block", "position"}
	for _, f := range c.Factors {
		planned = append(planned, f.Name)
	}
	draw, err := readDraw(filepath.Join(dir, DrawFile))
	if err == nil {
		planned = append(planned, draw.factors()...)
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
	return table.Faults{{File: path, Found: runs + " results or notes in the sheet", Do: moveAway}}
}
