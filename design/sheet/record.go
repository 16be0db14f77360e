package sheet

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"fairrun/design/fault"
	"fairrun/design/journal"
	"fairrun/design/store"
	"fairrun/design/table"
	"fairrun/stats/words"
)

// Assignment is a value for one cell of a run's row; the name is the column's
// heading. An empty value empties the cell.
type Assignment struct {
	Name, Value string
}

// Recorded is what Record did.
type Recorded struct {
	Run     Run  // as the sheet has it now
	Next    *Run // the next one to do, nil if there is none
	Changed bool // false: the sheet had it all already
	Skipped *Run // the one that was next when this one, not made before nor following the last one made, was recorded as made now; nil: none was

	entry journal.Entry // for the journal

	Warnings fault.List // about this run and the file
	Faults   fault.List // what is wrong elsewhere in the sheet, which did not keep Record from its work
}

// maxText bounds the text of a cell.
const maxText = 10_000

// Record stores values of one run in the sheet of a folder: checks, responses,
// status, log, done_at, note and the person's own columns. What was planned is not
// touched.
//
// Names may differ from the headings in capitals and in what separates their words.
// Numbers may have the decimal mark of the sheet or a point, and be followed by the
// plan's unit; they are written as the sheet writes them. With a response comes the status ok, unless the run has one;
// with a response, a status or a log comes the time now, unless the run has one. A
// void run that is given a response was made again, and gets the time now; one that
// is made ok and has a response was not spoiled after all, and keeps its time.
//
// Values are taken back by empty ones. With the last response goes the status ok, unless there is a
// log, and with the last of responses, status and log the time: the run is to do again.
//
// A cell that has another value is kept, and the assignment refused, unless replace
// is given; the same value again is no change. If anything is refused, nothing is
// stored. An error of type [fault.List] names each cell. What is wrong with other
// runs does not stop Record; it comes back beside the result.
func Record(dir string, run int, set []Assignment, replace bool, now time.Time) (*Recorded, error) {
	folder, err := store.Lock(dir)
	if err != nil {
		return nil, err
	}
	defer folder.Release()
	s, faults, err := load(dir)
	if err != nil {
		return nil, err
	}
	path, old := s.doc.File, s.doc.Bytes()
	var edits []journal.Entry
	var lost fault.List
	if len(s.Runs) > 0 && !s.columns.gone() {
		edits, lost = s.edits(now), s.warnOfVanished(vanished(s.differences()))
	}
	data, result, err := s.record(filepath.Join(dir, PlanFile), faults, run, set, replace, now)
	if err != nil {
		return nil, err
	}
	if result.Changed {
		err = folder.Replace(store.Change{Path: path, Old: old, Data: data},
			store.Change{Path: filepath.Join(dir, journal.File), Append: true, Data: journal.Lines(append(edits, result.entry))})
		if err != nil {
			return nil, err
		}
	}
	result.Warnings = append(result.Warnings, lost...)
	result.Warnings = append(result.Warnings, inFolder(dir, folder.Warnings)...)
	result.Warnings = append(result.Warnings, conflictCopies(dir)...)
	if openElsewhere(dir) {
		result.Warnings = append(result.Warnings, fault.Fault{
			File:  path,
			Found: "a spreadsheet program has the sheet open",
			Do:    "load it again there before saving, or what was recorded is lost",
		})
	}
	return result, nil
}

// inFolder turns what a person should know of a folder into warnings.
func inFolder(dir string, texts []string) (warnings fault.List) {
	for _, text := range texts {
		warnings = append(warnings, fault.Fault{File: dir, Found: text, Do: "nothing is lost"})
	}
	return warnings
}

// record is Record on a sheet that was loaded with faults, which it uses up; data is
// the new file. What is refused shows when the new file is read: a fault in the run's
// row that was not there before.
func (s *Sheet) record(planPath string, faults fault.List, run int, set []Assignment, replace bool, now time.Time) (data []byte, result *Recorded, err error) {
	e, err := newEntry(s, faults, run)
	if err != nil {
		return nil, nil, err
	}
	e.replace = replace
	was := make([]string, len(e.doc.Header))
	for col := range was {
		was[col] = cellText(e.doc, &s.columns, e.index, col)
	}
	set = e.resolve(set)
	e.assign(set)
	e.imply(set, now)
	if len(e.refused) > 0 {
		return nil, nil, e.refused
	}
	data = e.doc.Bytes()
	doc, err := table.Parse(e.doc.File, data)
	if err != nil {
		return nil, nil, err
	}
	after := &Sheet{Campaign: s.Campaign, Draw: s.Draw, Changes: s.Changes}
	result = &Recorded{Changed: e.changed}
	for _, f := range after.match(planPath, doc) {
		if f.Row == e.run.Row && !slices.Contains(faults, f) {
			e.refused = append(e.refused, f)
		} else {
			result.Faults = append(result.Faults, f)
		}
	}
	if len(e.refused) > 0 {
		return nil, nil, e.refused
	}
	result.entry = journal.Entry{Time: now, By: journal.Record, Run: run}
	for col, column := range doc.Header {
		if is := cellText(doc, &after.columns, e.index, col); is != was[col] {
			result.entry.Cells = append(result.entry.Cells, journal.Cell{Column: column, Old: was[col], New: is})
		}
	}
	result.Run = after.Runs[run-1]
	result.Next = after.Next()
	if e.now && e.run.Status == ToDo && e.run.Log == "" && e.run.DoneAt.IsZero() {
		if next := s.Next(); next != nil && next.Run != run && s.goingOn() != run {
			result.Skipped = next
		}
	}
	for _, w := range after.Warnings {
		if w.Row == e.run.Row {
			result.Warnings = append(result.Warnings, w)
		}
	}
	result.Warnings = append(result.Warnings, after.strays(e.run, run, e.index)...)
	return data, result, nil
}

// entry is the filling in of one row.
type entry struct {
	s       *Sheet
	doc     *table.Document
	run     *Run // as it was read
	index   int  // of its row in doc
	replace bool
	changed bool
	now     bool // the run is taken to be made now
	refused fault.List
}

// newEntry finds the run's row. It returns an error if the sheet has none, or two, or
// lacks columns.
func newEntry(s *Sheet, faults fault.List, run int) (*entry, error) {
	those := func(keep func(f fault.Fault) bool) fault.List {
		return slices.DeleteFunc(slices.Clone(faults), func(f fault.Fault) bool { return !keep(f) })
	}
	if len(s.Runs) == 0 || s.columns.gone() {
		return nil, those(func(f fault.Fault) bool { return f.Row == 0 })
	}
	if run < 1 || run > len(s.Runs) {
		return nil, fault.List{{
			File:  s.doc.File,
			Found: fmt.Sprintf("there is no run %d", run),
			Do:    fmt.Sprintf("the runs are 1 to %d", len(s.Runs)),
		}}
	}
	e := &entry{s: s, doc: s.doc, run: &s.Runs[run-1]}
	r := rowReader{doc: s.doc, columns: &s.columns}
	var rows []int // in the file
	for i := range s.doc.Rows() {
		n, ok := r.whole(i, s.columns.run)
		if ok && n == run {
			e.index = i
			rows = append(rows, s.doc.Place(i, -1).Row)
		}
	}
	switch len(rows) {
	case 1:
		return e, nil
	case 0:
		return nil, fault.List{r.missing(s.Campaign, e.run)}
	}
	return nil, those(func(f fault.Fault) bool { return f.Column == s.columns.run+1 && slices.Contains(rows, f.Row) })
}

// refuse notes why a cell is not set; col may be -1.
func (e *entry) refuse(col int, found, do string) {
	f := e.doc.Place(e.index, col)
	f.Found, f.Do = found, do
	e.refused = append(e.refused, f)
}

// assign sets the cells of set.
func (e *entry) assign(set []Assignment) {
	if len(set) == 0 {
		e.refuse(-1, "there is nothing to record", "give name=value, such as "+e.s.Campaign.Responses[0].Name+"=12.5")
	}
	given := map[string]bool{}
	for _, a := range set {
		if given[a.Name] {
			e.refuse(-1, fmt.Sprintf("%s is given twice", a.Name), "give it once")
			continue
		}
		given[a.Name] = true
		col := e.doc.Column(a.Name)
		switch {
		case col < 0 || a.Name == "":
			e.unknown(a.Name)
		case e.s.columns.planned(col):
			e.refuse(col, a.Name+" was set by the draw and is not recorded", "if the run was made otherwise, record status=void and say so in the note")
		default:
			e.set(col, a)
		}
	}
}

func (e *entry) unknown(name string) {
	var names []string
	for col, heading := range e.doc.Header {
		if !e.s.columns.planned(col) {
			names = append(names, heading)
		}
	}
	do := "the columns to fill in are " + strings.Join(words.Quoted(names), ", ")
	if near := words.Nearest(name, names); near != "" {
		do = fmt.Sprintf("did you mean %q? %s", near, strings.ToUpper(do[:1])+do[1:])
	}
	e.refuse(-1, fmt.Sprintf("there is no column %q", name), do)
}

// set sets one cell, if it may be.
func (e *entry) set(col int, a Assignment) {
	value := strings.TrimSpace(a.Value)
	if len(value) > maxText || !utf8.ValidString(value) || strings.ContainsRune(value, 0) {
		e.refuse(col, fmt.Sprintf("the text is longer than %d bytes, or not UTF-8", maxText), "shorten it, or put it in a file and name that")
		return
	}
	cs := &e.s.columns
	now := strings.TrimSpace(e.doc.Cell(e.index, col))
	same := now == value
	switch {
	case value == "":
	case cs.number(col):
		point, v, ok := e.number(col, a.Name, value)
		if !ok {
			return
		}
		_, w, isNumber := e.doc.Dialect.Number(now)
		same = isNumber && v == w
		value = point
	case col == cs.status:
		status, ok := parseStatus(value)
		if !ok {
			do := `give "ok", "failed" or "void"`
			if near := meant(value); near != ToDo {
				do = fmt.Sprintf(`did you mean status=%s? It can be "ok", "failed" or "void"`, near)
			}
			e.refuse(col, fmt.Sprintf("%q is no status", value), do)
			return
		}
		value = string(status)
		same = strings.EqualFold(now, value)
	case col == cs.doneAt:
		at, ok := parseTime(value)
		if !ok {
			e.refuse(col, fmt.Sprintf("%q is not a time", value), "write it as 2026-05-09T14:30:00+02:00")
			return
		}
		value = at.Format(time.RFC3339)
		was, isTime := parseTime(now)
		same = isTime && was.Equal(at)
	}
	if same {
		return
	}
	if now != "" && !e.replace {
		found, do := fmt.Sprintf("%s is %q already; %q was not stored", a.Name, now, a.Value), "use --replace to replace it"
		if value == "" {
			found, do = fmt.Sprintf("%s is %q, and was not emptied", a.Name, now), "use --replace to empty it"
		}
		e.refuse(col, found, do)
		return
	}
	e.put(col, value)
}

// put sets a cell to what belongs there.
func (e *entry) put(col int, value string) {
	if e.s.columns.number(col) {
		e.doc.SetNumber(e.index, col, value)
	} else {
		e.doc.Set(e.index, col, value)
	}
	e.changed = true
}

// imply sets status and time where set implies them, and takes them back.
func (e *entry) imply(set []Assignment, now time.Time) {
	cs := &e.s.columns
	named := func(cols ...int) bool {
		return slices.ContainsFunc(set, func(a Assignment) bool { return slices.Contains(cols, e.doc.Column(a.Name)) })
	}
	given := func(cols ...int) bool {
		return slices.ContainsFunc(set, func(a Assignment) bool {
			return strings.TrimSpace(a.Value) != "" && slices.Contains(cols, e.doc.Column(a.Name))
		})
	}
	measured := given(cs.responses...)
	if measured && !named(cs.status) {
		switch status := e.status(); {
		case e.run.Status == Void && !e.replace:
			e.refuse(cs.status, fmt.Sprintf("run %d is void; the response was not stored", e.run.Run), "use --replace if the run was made again")
		case status == Failed:
			e.refuse(cs.status, fmt.Sprintf("run %d is failed, and a failed run has no responses; the response was not stored", e.run.Run), "if it did its job after all, add status=ok --replace")
		case e.run.Status == Void, e.cell(cs.status) == "":
			e.put(cs.status, string(OK))
		}
	}
	if left := e.responses(); e.status() == Failed && left != nil && !measured {
		e.refuse(cs.status, fmt.Sprintf("run %d has %s, and a failed run has no responses; the status was not stored", e.run.Run, strings.Join(words.Quoted(left), ", ")),
			fmt.Sprintf("if it failed, take them out too: status=failed %s= --replace", strings.Join(left, "= ")))
	}
	e.takeBack(named(cs.responses...), named(cs.status), named(cs.log), named(cs.doneAt))
	if named(cs.doneAt) || !measured && !given(cs.status, cs.log) {
		return
	}
	again := e.run.Status == Void && e.status() == OK && (measured || e.responses() == nil)
	if again || e.cell(cs.doneAt) == "" {
		e.put(cs.doneAt, now.Format(time.RFC3339))
		e.now = true
	}
}

// takeBack empties what came with values that were emptied, and named cells aside: the status ok
// with the last response, and the time once nothing says that the run was made. A failed or void run
// stays so until its status is emptied.
func (e *entry) takeBack(responses, status, log, time bool) {
	cs := &e.s.columns
	if !e.changed || e.responses() != nil || e.cell(cs.log) != "" {
		return
	}
	if responses && !status && hasValue(e.run) && e.status() == OK {
		e.empty(cs.status)
	}
	if (responses || status || log) && !time && e.cell(cs.status) == "" {
		e.empty(cs.doneAt)
	}
}

func (e *entry) cell(col int) string { return strings.TrimSpace(e.doc.Cell(e.index, col)) }

func (e *entry) status() Status {
	status, _ := parseStatus(e.cell(e.s.columns.status))
	return status
}

// responses are the names of those that the row holds now; nil if it holds none.
func (e *entry) responses() (names []string) {
	for k, col := range e.s.columns.responses {
		if e.cell(col) != "" {
			names = append(names, e.s.Campaign.Responses[k].Name)
		}
	}
	return names
}

func (e *entry) empty(col int) {
	if e.cell(col) != "" {
		e.put(col, "")
	}
}
