package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"fairrun/design"
	"fairrun/design/journal"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/store"
	"fairrun/design/table"
)

// Extend adds freshly drawn blocks to the campaign in a folder and returns the sheet as
// it was and as it is. The blocks are drawn by the rule of the first ones, from a seed
// that follows from theirs, so that the same campaign is extended in the same way.
//
// The rows of the sheet stay as they are, byte for byte; new rows come after the last,
// in the sheet's dialect, with the person's own columns empty. The draw record notes the
// extension, and the number of blocks in the plan is changed in its place. All three
// files change, or none does.
//
// Where the fold-over of a screen has blocks of its own, each block goes to the runs or to their
// fold-over, whichever has fewer.
func Extend(dir string, blocks int, at time.Time) (before, after *Sheet, err error) {
	return lengthen(dir, DrawFile, func(s *Sheet) (*Draw, error) { return s.Draw.extended(s.Campaign, blocks, at) })
}

// lengthen adds the blocks that longer draws; the file named is to blame when they cannot be.
func lengthen(dir, file string, longer func(*Sheet) (*Draw, error)) (before, after *Sheet, err error) {
	folder, err := store.Lock(dir)
	if err != nil {
		return nil, nil, err
	}
	defer folder.Release()
	planPath := filepath.Join(dir, PlanFile)
	before, err = Open(dir)
	if err != nil {
		return nil, nil, err
	}
	draw, err := longer(before)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", filepath.Join(dir, file), err)
	}
	grown, err := draw.grow(planPath, before.planText)
	if err != nil {
		return nil, nil, err
	}
	old := before.doc.Bytes()
	sheet, err := table.Parse(before.doc.File, old)
	if err != nil {
		return nil, nil, err
	}
	sheet.Append(sheetRows(before.Campaign, sheet.Header, draw.Runs[len(before.Draw.Runs):]))
	added := len(draw.Order.Blocks) - len(before.Draw.Order.Blocks)
	at := draw.Draws[len(draw.Draws)-1].Time
	err = folder.Replace(
		store.Change{Path: before.doc.File, Old: old, Data: sheet.Bytes()},
		store.Change{Path: filepath.Join(dir, DrawFile), Old: before.drawText, Data: draw.encode()},
		store.Change{Path: planPath, Old: before.planText, Data: grown},
		store.Change{Path: filepath.Join(dir, journal.File), Append: true,
			Data: journal.Lines(append(before.edits(at), drawEntry(draw, journal.Extend, at, added)))},
	)
	if err != nil {
		return nil, nil, err
	}
	after, err = Open(dir)
	if err == nil {
		after.Warnings = append(after.Warnings, inFolder(dir, folder.Warnings)...)
	}
	return before, after, err
}

// grow returns the bytes of a plan with what the draw added to it.
func (d *Draw) grow(name string, text []byte) ([]byte, error) {
	drawn, err := d.plan()
	if err != nil {
		return nil, err
	}
	if drawn.FoldedApart() {
		return plan.SetFoldOver(name, text, drawn.Block.Count, drawn.Order.Screen)
	}
	return plan.SetBlockCount(name, text, drawn.Block.Count)
}

// plan is the plan that was drawn.
func (d *Draw) plan() (*design.Plan, error) {
	drawn := &design.Plan{}
	if err := json.Unmarshal(d.Plan, drawn); err != nil {
		return nil, err
	}
	if !bytes.Equal(drawn.Canonical(), d.Plan) {
		return nil, errors.New("the plan in the record was written by another version of fairrun: update fairrun, or begin a new campaign")
	}
	return drawn, nil
}

// extended is the record of d and of blocks that are drawn after it.
func (d *Draw) extended(c *design.Plan, blocks int, at time.Time) (*Draw, error) {
	if err := d.roomFor(c, blocks); err != nil {
		return nil, err
	}
	o, err := order.Extend(&d.Order, blocks, d.Order.NextSeed())
	if err != nil {
		return nil, inWords(c, err)
	}
	drawn, err := d.plan()
	if err != nil {
		return nil, err
	}
	drawn.Block.Count = len(o.Blocks)
	if o.Fold != nil {
		drawn.Order.Screen.FoldBlocks = nil
		for _, b := range o.Fold.At {
			drawn.Order.Screen.FoldBlocks = append(drawn.Order.Screen.FoldBlocks, b+1)
		}
	}
	return d.grown(drawn, o, Drawing{Time: at.Truncate(time.Second), Blocks: blocks}), nil
}

// roomFor returns an error if with so many blocks more there would be too many runs.
func (d *Draw) roomFor(c *design.Plan, blocks int) error {
	if runs := len(d.Runs) + blocks*c.RunsPerBlock(); blocks > design.MaxRuns || runs > design.MaxRuns {
		more := "1 more " + c.Block.Name
		if blocks != 1 {
			more = fmt.Sprintf("%d more %s", blocks, c.Block.Plural())
		}
		return fmt.Errorf("with %s there would be more than %d runs, the most of a plan", more, design.MaxRuns)
	}
	return nil
}

// grown is the record after a further drawing, which made the plan and the order what they are.
func (d *Draw) grown(text *design.Plan, o *order.Drawn, drawing Drawing) *Draw {
	return &Draw{
		Hash:  text.Hash(),
		Plan:  text.Canonical(),
		Draws: append(d.Draws[:len(d.Draws):len(d.Draws)], drawing),
		Order: *o,
		Runs:  plannedRuns(text, o.Whole(), o.Blocks),
	}
}
