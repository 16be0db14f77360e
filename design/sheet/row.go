package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/table"
)

// rowReader reads the rows of a sheet into its runs.
type rowReader struct {
	s        *Sheet
	doc      *table.Document
	columns  *columns
	faults   fault.List
	warnings fault.List
}

// readAll reads every row and returns what is wrong with them.
func (r *rowReader) readAll() fault.List {
	if r.columns.run < 0 {
		return nil // no row can be distinguished from another
	}
	row := make([]int, len(r.s.Runs)) // of each run: its row in the table, -1 if it has none
	for i := range row {
		row[i] = -1
	}
	for i := range r.doc.Rows() {
		run, ok := r.runOf(i)
		if !ok {
			continue
		}
		if before := row[run-1]; before >= 0 {
			r.fault(i, r.columns.run, fmt.Sprintf("run %d stands in row %d too", run, r.doc.Place(before, -1).Row),
				"keep one row for each run, and move further results of your own to another file")
			continue
		}
		row[run-1] = i
		r.s.Runs[run-1].Row = r.doc.Place(i, -1).Row
		r.planned(i, &r.s.Runs[run-1])
	}
	r.numbers(row)
	for i := range r.s.Runs {
		run := &r.s.Runs[i]
		if row[i] < 0 {
			r.faults = append(r.faults, r.missing(r.s.Campaign, run))
			continue
		}
		r.entered(row[i], run)
		r.consistent(row[i], run)
	}
	return r.faults
}

func (r *rowReader) fault(row, col int, found, do string) {
	f := r.doc.Place(row, col)
	f.Found, f.Do = found, do
	r.faults = append(r.faults, f)
}

func (r *rowReader) warn(row, col int, found, do string) {
	f := r.doc.Place(row, col)
	f.Found, f.Do = found, do
	r.warnings = append(r.warnings, f)
}

// cell is the text of a cell, "" in a column that is gone.
func (r *rowReader) cell(row, col int) string {
	if col < 0 {
		return ""
	}
	return strings.TrimSpace(r.doc.Cell(row, col))
}

// whole reads a cell as a whole number; programs may write 3 as 3.0.
func (r *rowReader) whole(row, col int) (n int, ok bool) {
	_, value, ok := r.doc.Dialect.Number(r.cell(row, col))
	n = int(value)
	return n, ok && float64(n) == value
}

// runOf is the number of the run in a row.
func (r *rowReader) runOf(row int) (run int, ok bool) {
	text := r.cell(row, r.columns.run)
	run, ok = r.whole(row, r.columns.run)
	switch {
	case text == "":
		r.fault(row, r.columns.run, "the row has no run number", "restore the number, or take the row out")
		return 0, false
	case !ok:
		r.fault(row, r.columns.run, fmt.Sprintf("%q is not a run number", text), "restore the number, or take the row out")
		return 0, false
	case run < 1 || run > len(r.s.Runs):
		r.fault(row, r.columns.run, fmt.Sprintf("run %d was never drawn", run), fmt.Sprintf("the runs are 1 to %d: restore the number, or take the row out", len(r.s.Runs)))
		return 0, false
	}
	return run, true
}

// planned compares what was drawn with the row.
func (r *rowReader) planned(row int, run *Run) {
	number := func(col, want int) {
		if col < 0 {
			return
		}
		got, ok := r.whole(row, col)
		if !ok || got != want {
			r.fault(row, col, fmt.Sprintf("run %d was drawn with %d, the cell has %q", run.Run, want, r.cell(row, col)),
				fmt.Sprintf("put %d back", want))
		}
	}
	number(r.columns.block, run.Block)
	number(r.columns.position, run.Position)
	if run.WholePlot > 0 {
		number(r.columns.plot, run.WholePlot)
	}
	if run.Session > 0 {
		number(r.columns.session, run.Session)
	}
	if run.Specimen > 0 {
		number(r.columns.unit, run.Specimen)
	}
	r.item(row, run)
	if col := r.columns.role; col >= 0 && !strings.EqualFold(r.cell(row, col), string(run.Role)) {
		r.fault(row, col, fmt.Sprintf("run %d was drawn with %q, the cell has %q", run.Run, run.Role, r.cell(row, col)),
			fmt.Sprintf("put %q back", run.Role))
	}
	for k := range r.s.Campaign.Factors {
		f := &r.s.Campaign.Factors[k]
		col := r.columns.factors[k]
		if col < 0 {
			continue
		}
		want, text := run.Levels[k], r.cell(row, col)
		got := matchLevel(f, r.doc.Dialect, text)
		switch {
		case text == want, got >= 0 && f.Levels[got] == want:
		case got >= 0:
			r.fault(row, col, fmt.Sprintf("run %d was drawn with %q, the cell has %q", run.Run, want, text),
				fmt.Sprintf("put %q back; if the run was truly made with %q, put %q back all the same, set the status to void and say so in the note", want, text, want))
		default:
			r.fault(row, col, fmt.Sprintf("run %d was drawn with %q, the cell has %q, which is no level of the plan", run.Run, want, text),
				fmt.Sprintf("put %q back", want))
		}
	}
}

// item compares the item of a run with the row; programs rewrite labels that they take for numbers.
func (r *rowReader) item(row int, run *Run) {
	col := r.columns.item
	if run.Item == 0 || col < 0 {
		return
	}
	want, text := r.s.Campaign.Items.Label(run.Item), r.cell(row, col)
	_, value, isNumber := r.doc.Dialect.Number(text)
	_, number, ok := table.Dialect{}.Number(want)
	if strings.EqualFold(text, want) || isNumber && ok && value == number {
		return
	}
	r.fault(row, col, fmt.Sprintf("run %d was drawn with %q, the cell has %q", run.Run, want, text),
		fmt.Sprintf("put %q back; if the run was truly made on another %s, say so in the note", want, r.s.Campaign.Items.Name))
}

// missing is the fault of a run without a row.
func (r *rowReader) missing(c *design.Plan, run *Run) fault.Fault {
	cells := []string{
		"run " + strconv.Itoa(run.Run), "block " + strconv.Itoa(run.Block), "position " + strconv.Itoa(run.Position),
	}
	if run.Role != Drawn {
		cells = append(cells, "role "+string(run.Role))
	}
	if run.WholePlot > 0 {
		cells = append(cells, "whole_plot "+strconv.Itoa(run.WholePlot))
	}
	if run.Session > 0 {
		cells = append(cells, c.Session.Name+" "+strconv.Itoa(run.Session))
	}
	if run.Item > 0 {
		cells = append(cells, c.Items.Name+" "+c.Items.Label(run.Item))
	}
	if run.Specimen > 0 {
		cells = append(cells, c.Specimens.Name+" "+strconv.Itoa(run.Specimen))
	}
	for k, f := range c.Factors {
		cells = append(cells, f.Name+" "+run.Levels[k])
	}
	return fault.Fault{
		File:  r.doc.File,
		Found: fmt.Sprintf("run %d has no row", run.Run),
		Do:    "restore it: " + strings.Join(cells, ", "),
	}
}

// numbers reads checks and responses of the rows that have a run.
func (r *rowReader) numbers(row []int) {
	ours := map[int]bool{} // by row of the file
	for i := range r.s.Runs {
		ours[r.s.Runs[i].Row] = true
	}
	read := func(col int, put func(run *Run, point string)) {
		if col < 0 {
			return
		}
		points, faults := r.doc.Numbers(col)
		for _, f := range faults {
			if ours[f.Row] {
				r.faults = append(r.faults, f)
			}
		}
		for i := range r.s.Runs {
			if row[i] >= 0 {
				put(&r.s.Runs[i], points[row[i]])
			}
		}
	}
	for k, col := range r.columns.checks {
		read(col, func(run *Run, point string) { run.Readings[k] = point })
	}
	for k, col := range r.columns.responses {
		read(col, func(run *Run, point string) { run.Values[k] = point })
	}
}

// entered reads the text cells.
func (r *rowReader) entered(row int, run *Run) {
	run.Log = r.cell(row, r.columns.log)
	run.Note = r.cell(row, r.columns.note)
	text := r.cell(row, r.columns.status)
	status, ok := parseStatus(text)
	if !ok {
		r.fault(row, r.columns.status, fmt.Sprintf("%q is no status", text),
			`write "ok", "failed" or "void", or leave the cell empty while the run is to do`)
	}
	run.Status = status
	if status == ToDo && ok && hasValue(run) {
		run.Status = OK
	}
	text = r.cell(row, r.columns.doneAt)
	if text != "" {
		at, ok := parseTime(text)
		if !ok {
			r.warn(row, r.columns.doneAt, fmt.Sprintf("%q is not a time that can be read, so it does not count", text),
				"write it as 2026-05-09T14:30:00+02:00")
		}
		run.DoneAt = at
	}
}

// consistent checks the cells of a row against each other and the plan.
func (r *rowReader) consistent(row int, run *Run) {
	for k, check := range r.s.Campaign.Readings {
		found := outside(&check, run.Readings[k])
		if found != "" {
			do := "see whether the run counts; if it was spoiled, make it void"
			if run.Status == ToDo {
				do = r.before(&check, run.Readings[k], run.Position)
			}
			r.warn(row, r.columns.checks[k], found, do)
		}
	}
	switch run.Status {
	case Failed:
		for k, response := range r.s.Campaign.Responses {
			if run.Values[k] != "" {
				r.fault(row, r.columns.responses[k], fmt.Sprintf("run %d failed, yet %s is %s", run.Run, response.Name, run.Values[k]),
					"empty the cell, or make the status ok: a failed run has no responses")
			}
		}
	case Void:
		if run.Note == "" && r.columns.note >= 0 {
			r.warn(row, r.columns.note, fmt.Sprintf("run %d is void without a reason", run.Run), "say in the note what spoiled it")
		}
	case OK:
		if run.Role == Warmup {
			return // what it measured does not count
		}
		if !hasValue(run) && run.Log == "" {
			r.warn(row, r.columns.status, fmt.Sprintf("run %d is ok but has no response", run.Run), "enter what was measured, or make it failed or void")
			return
		}
		for k := range r.s.Campaign.Responses {
			response := &r.s.Campaign.Responses[k]
			if found, do := notRatio(response, run.Values[k]); found != "" && r.columns.responses[k] >= 0 {
				r.warn(row, r.columns.responses[k], found, do)
			}
			if run.Values[k] == "" && hasValue(run) && r.columns.responses[k] >= 0 {
				r.warn(row, r.columns.responses[k], fmt.Sprintf("run %d is ok but has no %s", run.Run, response.Name), "enter it, or leave it empty if it was not measured")
			}
		}
	}
}

// hasValue reports whether a run has a response.
func hasValue(run *Run) bool {
	return slices.ContainsFunc(run.Values, func(v string) bool { return v != "" })
}

// notRatio says of a value that cannot be compared as a ratio what it does to the verdict on the
// response, "" of others.
func notRatio(p *design.Response, point string) (found, do string) {
	_, value, ok := table.Dialect{}.Number(point)
	if p.Scale != design.ScaleLog || !ok || value > 0 {
		return "", ""
	}
	return fmt.Sprintf("%s is %s, but it is compared as ratios, which need values above zero: while it stands there is no verdict on %[1]s", p.Name, point),
		"correct it; make the run failed if it did not do its job, void if it was spoiled; or, where such values are right, give the response an absolute margin, or scale = \"raw\", in " + PlanFile
}

// outside says how a value breaks the limits of a check, "" if it does not.
func outside(c *design.Reading, point string) string {
	_, value, ok := table.Dialect{}.Number(point)
	if !ok {
		return ""
	}
	unit := ""
	if c.Unit != "" {
		unit = " " + c.Unit
	}
	switch {
	case c.Low != nil && value < *c.Low:
		return fmt.Sprintf("%s%s is below the limit of %v%s", point, unit, *c.Low, unit)
	case c.High != nil && value > *c.High:
		return fmt.Sprintf("%s%s is above the limit of %v%s", point, unit, *c.High, unit)
	}
	return ""
}

// before says what to do before a run at a position of its block, one of whose checks is outside its limits.
func (r *rowReader) before(c *design.Reading, point string, position int) string {
	block := r.s.Campaign.Block.Name
	_, value, _ := table.Dialect{}.Number(point)
	do := "put it right"
	switch low := c.Low != nil && value < *c.Low; {
	case c.Name == "start_temp" && low:
		do = "wait until it has warmed up"
	case c.Name == "start_temp":
		do = "wait until it has cooled down"
	case c.Name == "start_volts" && low && position == 1:
		do = fmt.Sprintf("charge the %s, or take a full one", block)
	case c.Name == "start_volts" && low:
		do = fmt.Sprintf("see whether the %s is spent; if it is, take another and say so in the note", block)
	}
	return fmt.Sprintf("before the run, %s; then note it again, with --replace", do)
}

// parseStatus reads a status, in whatever capitals.
func parseStatus(text string) (status Status, ok bool) {
	for _, s := range []Status{ToDo, OK, Failed, Void} {
		if strings.EqualFold(text, string(s)) {
			return s, true
		}
	}
	return ToDo, false
}

// parseTime reads a time as Record writes it, or as spreadsheet programs rewrite it:
// then without its offset, so taken to be local.
func parseTime(text string) (at time.Time, ok bool) {
	at, err := time.Parse(time.RFC3339, text)
	if err == nil {
		return at, true
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"} {
		at, err = time.ParseInLocation(layout, text, time.Local)
		if err == nil {
			return at, true
		}
	}
	return time.Time{}, false
}
