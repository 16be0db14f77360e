package sheet

import (
	"fairrun/design"
	"fairrun/design/order"
)

// Blank is the sheet of an order for a plan with nothing entered yet, as [Write] puts it into a folder,
// but for what comes of files: it has no times, rows or warnings.
//
// It panics if d is not an order for c.
func Blank(c *design.Plan, d *order.Drawn) *Sheet {
	checkShape(c, d)
	draw := &Draw{Draws: []Drawing{{Blocks: len(d.Blocks)}}, Order: *d, Runs: plannedRuns(c, d.Whole(), d.Blocks)}
	s := &Sheet{Campaign: c, Draw: draw}
	if faults := s.plan(""); faults != nil {
		panic(wrongOrder)
	}
	return s
}
