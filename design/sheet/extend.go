package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/table"
)

// Extend adds freshly drawn blocks to the campaign in a folder and returns the sheet as
// it was and as it is. The blocks are drawn by the rule of the first ones, from a seed
// that follows from theirs, so that the same campaign is extended in the same way.
//
// The rows of the sheet stay as they are, byte for byte; new rows come after the last,
// in the sheet's dialect, with the person's own columns empty. The draw record notes the
// extension, and the number of blocks in the plan is changed in its place. All three
// files are complete on the disk before any takes its place. If the power goes in
// between, what is missing is said by Open.
func Extend(dir string, blocks int, at time.Time) (before, after *Sheet, err error) {
	release, err := lock(dir)
	if err != nil {
		return nil, nil, err
	}
	defer release()
	planPath := filepath.Join(dir, PlanFile)
	plan, err := os.ReadFile(planPath)
	if err != nil {
		return nil, nil, err
	}
	before, faults, err := load(dir)
	if err == nil && len(faults) > 0 {
		err = faults
	}
	if err != nil {
		return nil, nil, err
	}
	draw, err := before.Draw.extended(before.Campaign, blocks, at)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", filepath.Join(dir, DrawFile), err)
	}
	longer, err := design.SetBlockCount(planPath, plan, len(draw.Order.Blocks))
	if err != nil {
		return nil, nil, err
	}
	old := before.doc.Bytes()
	sheet, err := table.Parse(before.doc.File, old)
	if err != nil {
		return nil, nil, err
	}
	sheet.Append(sheetRows(before.Campaign, sheet.Header, draw.Runs[len(before.Draw.Runs):]))
	err = replaceAll([]replacement{
		{filepath.Join(dir, DrawFile), nil, draw.encode()},
		{before.doc.File, old, sheet.Bytes()},
		{planPath, plan, longer},
	})
	if err != nil {
		return nil, nil, err
	}
	after, err = Open(dir)
	return before, after, err
}

// extended is the record of d and of blocks that are drawn after it.
func (d *Draw) extended(c *design.Campaign, blocks int, at time.Time) (*Draw, error) {
	if runs := len(d.Runs) + blocks*c.RunsPerBlock(); blocks > design.MaxRuns || runs > design.MaxRuns {
		return nil, fmt.Errorf("with %d more %s there would be more than %d runs, the most of a plan", blocks, c.Block.Plural(), design.MaxRuns)
	}
	o, err := order.Extend(&d.Order, blocks, d.Order.Seed+uint64(len(d.Order.Extensions))+1)
	if err != nil {
		return nil, inWords(c, err)
	}
	var drawn design.Campaign
	if err := json.Unmarshal(d.Plan, &drawn); err != nil {
		return nil, err
	}
	if !bytes.Equal(drawn.Canonical(), d.Plan) {
		return nil, errors.New("the plan in the record was written by another version of fairrun: update fairrun, or begin a new campaign")
	}
	drawn.Block.Count = len(o.Blocks)
	return &Draw{
		Hash:  drawn.Hash(),
		Plan:  drawn.Canonical(),
		Draws: append(d.Draws[:len(d.Draws):len(d.Draws)], Drawing{Time: at.Truncate(time.Second), Blocks: blocks}),
		Order: *o,
		Runs:  plannedRuns(&drawn, o.Plan, o.Blocks),
	}, nil
}

// replacement is data that takes the place of a file, which held old when it was read;
// nil if that is not looked at.
type replacement struct {
	path      string
	old, data []byte
}

// replaceAll replaces files, one after the other, once all that is to take their place
// is on the disk and none was saved by another program in between.
func replaceAll(files []replacement) (err error) {
	var ready []*staged
	defer func() {
		if err != nil {
			for _, s := range ready {
				s.discard()
			}
		}
	}()
	for _, f := range files {
		s, err := stage(f.path, f.data)
		if err != nil {
			return err
		}
		ready = append(ready, s)
	}
	for _, f := range files {
		if f.old == nil {
			continue
		}
		now, err := os.ReadFile(f.path)
		if err != nil || !bytes.Equal(now, f.old) {
			return errors.Join(err, savedBetween(f.path))
		}
	}
	for len(ready) > 0 {
		if err := ready[0].commit(); err != nil {
			return err
		}
		ready = ready[1:]
	}
	return nil
}
