package sheet

import (
	"fmt"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/order"
	"fairrun/design/table"
	"fairrun/stats/words"
)

// columns are the indexes of a sheet's columns in its table; -1 where one is gone.
type columns struct {
	run, block, position      int
	role, plot                int   // where the plan has such columns, otherwise -1
	session, item, unit       int   // likewise
	factors                   []int // of each factor
	checks                    []int // of each check
	responses                 []int // of each response
	status, log, doneAt, note int
}

// headings are the columns of the sheet of a plan and its order, in order.
func headings(c *design.Plan, p order.Spec) []string {
	names := []string{"run", "block", "position"}
	if hasRoles(p) {
		names = append(names, "role")
	}
	if p.WholePlots != nil {
		names = append(names, "whole_plot")
	}
	names = append(names, shares(c).names()...)
	for _, f := range c.Factors {
		names = append(names, f.Name)
	}
	for _, k := range c.Readings {
		names = append(names, k.Name)
	}
	for _, r := range c.Responses {
		names = append(names, r.Name)
	}
	return append(names, "status", "log", "done_at", "note")
}

// hasRoles reports whether some runs are not drawn: warm-up and reference runs.
func hasRoles(p order.Spec) bool { return p.Warmup > 0 || len(p.Reference) > 0 }

// findColumns finds the columns of c's sheet, drawn by p, in d. Those that are gone are faults.
func findColumns(c *design.Plan, p order.Spec, d *table.Document) (columns, fault.List) {
	var faults fault.List
	names := headings(c, p)
	find := func(name string) int {
		col := d.Column(name)
		if col < 0 {
			faults = append(faults, missingColumn(d, name, names))
		}
		return col
	}
	var cs columns
	cs.run, cs.block, cs.position = find("run"), find("block"), find("position")
	cs.role, cs.plot, cs.session, cs.item, cs.unit = -1, -1, -1, -1, -1
	if hasRoles(p) {
		cs.role = find("role")
	}
	if p.WholePlots != nil {
		cs.plot = find("whole_plot")
	}
	if c.Session != nil {
		cs.session = find(c.Session.Name)
	}
	if c.Items != nil {
		cs.item = find(c.Items.Name)
	}
	if c.Specimens != nil {
		cs.unit = find(c.Specimens.Name)
	}
	for _, f := range c.Factors {
		cs.factors = append(cs.factors, find(f.Name))
	}
	for _, k := range c.Readings {
		cs.checks = append(cs.checks, find(k.Name))
	}
	for _, r := range c.Responses {
		cs.responses = append(cs.responses, find(r.Name))
	}
	cs.status, cs.log, cs.doneAt, cs.note = find("status"), find("log"), find("done_at"), find("note")
	return cs, faults
}

// missingColumn is the fault of a column that is gone from d, of whose columns the
// plan accounts for names.
func missingColumn(d *table.Document, name string, names []string) fault.Fault {
	others := slices.DeleteFunc(slices.Clone(d.Header), func(h string) bool { return slices.Contains(names, h) })
	f := fault.Fault{File: d.File, Found: fmt.Sprintf("there is no column %q", name)}
	if near := words.Nearest(name, others); near != "" {
		f.Do = fmt.Sprintf("give column %d, now %q, that heading", d.Column(near)+1, near)
		return f
	}
	f.Do = "add it, anywhere: the heading and a cell in each row, empty where there is nothing to enter"
	return f
}

// planned reports whether the draw fills column col.
func (cs *columns) planned(col int) bool {
	return slices.Contains([]int{cs.run, cs.block, cs.position, cs.role, cs.plot, cs.session, cs.item, cs.unit}, col) || slices.Contains(cs.factors, col)
}

// number reports whether column col takes numbers: a check or a response.
func (cs *columns) number(col int) bool {
	return slices.Contains(cs.checks, col) || slices.Contains(cs.responses, col)
}

// matchLevel is the index of the level of f that text names in a file of dialect d,
// or -1. Programs rewrite what they take for a number or a truth value (0.50 as 0,5,
// true as TRUE), so a level is also known by its value, or but for capitals, if that
// fits one level only.
func matchLevel(f *design.Factor, d table.Dialect, text string) int {
	k := slices.Index(f.Levels, text)
	if k >= 0 {
		return k
	}
	_, value, isNumber := d.Number(text)
	match := -1
	for i, level := range f.Levels {
		_, v, ok := table.Dialect{}.Number(level)
		if isNumber && ok && v == value || strings.EqualFold(level, text) {
			if match >= 0 {
				return -1
			}
			match = i
		}
	}
	return match
}

// gone reports whether a column that every sheet has is gone.
func (cs *columns) gone() bool {
	return slices.Contains(slices.Concat([]int{cs.run, cs.block, cs.position}, cs.factors, cs.checks, cs.responses,
		[]int{cs.status, cs.log, cs.doneAt, cs.note}), -1)
}
