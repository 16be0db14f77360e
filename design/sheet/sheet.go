// Package sheet keeps a campaign's run sheet and draw record on disk: it writes
// them when an order is drawn, reads and checks them, and fills in results without
// losing a cell.
//
// A campaign is a folder of plain text:
//
//	campaign.toml   the plan (package design)
//	runsheet.csv    one row a run, in the order drawn; the person fills it in
//	draw.json       what was drawn, when and from which plan
//	journal.jsonl   every change that was made (package journal)
//
// [Write] makes the last two. [Open] reads all three and returns a [Sheet] in which
// every row is matched, by its run number, with what was drawn, or else all that is
// wrong at once. [Record] stores the results of one run. [Repair] puts back what the journal has and the
// sheet has lost; [Rebuild] makes a sheet that is gone again.
//
// The sheet belongs to the person as much as to this program. Its rows may be
// sorted, columns of their own may stand anywhere, a spreadsheet program may save it
// in its own dialect; all of that is read and kept (package table). What may not
// change are the planned cells: block, position and levels are compared with the
// draw record, since the verdict rests on them.
//
// # Statuses
//
// A run without a status is to do, unless a response is filled in: then it is ok. A
// failed run is an outcome, and has no responses. A void run was spoiled; its
// responses are kept in the sheet and not used.
//
// # Runs that are not drawn
//
// Where the plan has warm-up or reference runs the sheet has a column role that says which they
// are; it is empty for drawn runs. Warm-up runs are filled in as any other, but a response is not
// asked of them and they are not analysed. Where the plan has whole plots a column whole_plot
// numbers them; where it has sessions, items or several specimens, columns with their names say which
// one a run is made in or on.
//
// # Files under other hands
//
// What belongs together is written together or not at all (package store). Writers of this program
// take turns. Other programs do not know of that: a file that was saved between
// reading and writing is noticed and left alone.
//
// Read sheet.go first, then open.go and record.go.
package sheet

import (
	"time"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/journal"
	"fairrun/design/table"
)

// The files of a campaign's folder.
const (
	PlanFile = "campaign.toml"
	File     = "runsheet.csv"
	DrawFile = "draw.json"
)

// maxBytes bounds the sheet and the draw record. The largest plan, 10,000 runs,
// fills a quarter of it.
const maxBytes = 16 << 20

// A Sheet is a run sheet that was read and found in order.
type Sheet struct {
	Campaign *design.Plan
	Draw     *Draw
	Runs     []Run // by number: run n is Runs[n-1]

	// Changes says in words how the plan differs from the plan that was drawn; nil if
	// it does not.
	Changes []string

	// Warnings are what a person should look at: a check outside its limits, a void
	// run without a reason, an ok run without a response, a time that cannot be
	// read. They come in the order of the rows.
	Warnings fault.List

	planText, drawText []byte // the files
	journal            *journal.Journal

	doc     *table.Document
	columns columns
}

// Run is one row of the sheet.
type Run struct {
	Run, Block, Position int // from 1, as drawn
	Role                 Role
	WholePlot            int      // from 1 over the campaign, 0 where there are none
	Session              int      // from 1, that the block lies in; 0 where there are none
	Item                 int      // from 1, that the block runs on; 0 where there are none
	Specimen             int      // from 1, that the block belongs to; 0 where there are none
	Treatment            int      // index into Plan.Treatments()
	Levels               []string // of each factor, in the words of the plan

	Readings []string  // of each check of the plan: a number with a decimal point, "" if there is none
	Values   []string  // of each response of the plan, likewise
	Status   Status    // OK if the cell is empty and a response is not
	Log      string    // path of the raw log, as written
	DoneAt   time.Time // zero if there is none, or none that can be read
	Note     string

	Row int // in the file, as a spreadsheet counts
}

// Status is what became of a run.
type Status string

const (
	ToDo   Status = ""       // not made yet
	OK     Status = "ok"     // made; its responses count
	Failed Status = "failed" // the thing under test did not do its job: an outcome
	Void   Status = "void"   // the test was spoiled: to be repeated
)

// Next is the first run that is still to do, nil if none is. A run with a log or a
// time was made: its responses are only not filled in yet.
func (s *Sheet) Next() *Run {
	for i := range s.Runs {
		r := &s.Runs[i]
		if r.Status == ToDo && r.Log == "" && r.DoneAt.IsZero() {
			return r
		}
	}
	return nil
}

// goingOn is the number of the first run to do behind the one that was made last, 0 if there is
// none.
func (s *Sheet) goingOn() int {
	var last *Run
	for i := range s.Runs {
		if r := &s.Runs[i]; !r.DoneAt.IsZero() && (last == nil || !r.DoneAt.Before(last.DoneAt)) {
			last = r
		}
	}
	if last == nil {
		return 0
	}
	for _, r := range s.Runs[last.Run:] {
		if r.Status == ToDo && r.Log == "" && r.DoneAt.IsZero() {
			return r.Run
		}
	}
	return 0
}
