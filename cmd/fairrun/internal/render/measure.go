package render

import (
	"fmt"
	"strconv"
	"strings"

	"fairrun/design"
	"fairrun/design/measure"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Measured shows what was measured from the logs of runs, and which values are missing.
func Measured(c *design.Plan, runs []measure.Stored) *Document {
	d := &Document{}
	t := Table{Head: []string{"run", "log"}, Align: "rl"}
	for _, r := range c.Responses {
		if r.Measure != nil {
			t.Head = append(t.Head, heading(r.Name, r.Unit))
			t.Align += "r"
		}
	}
	whole, stored := 0, 0
	for _, r := range runs {
		row := []string{strconv.Itoa(r.Run.Run), r.File}
		for k := range r.Values {
			row = append(row, measuredText(&r.Values[k]))
		}
		t.Rows = append(t.Rows, row)
		measured := false
		for k := range r.Values {
			measured = measured || r.Values[k].Value != nil
		}
		if measured {
			whole++
		}
		if r.Changed {
			stored++
		}
	}
	d.Table(t)
	d.Text("%d of %s measured; %d new in the run sheet. ± is the standard uncertainty: twice it holds the truth in 95 %% of logs.", whole, words.Count(len(runs), "log"), stored)
	several := 0
	for _, r := range runs {
		for _, v := range r.Values {
			if v.Steps > 1 {
				several++
			}
		}
	}
	if several > 0 {
		d.Text("%s the mean of several steps of one log. These are no replicates: pack and heat are the same for all of them.", words.Count(several, "value")+words.Agree(several, " is", " are"))
	}
	return d
}

// MeasuredNotes are the lines on what a person should look at: values that are missing and why, cells that
// hold another value, and what was noted of a log.
func MeasuredNotes(runs []measure.Stored) (missing, notes []string) {
	of := map[string][]string{} // the runs of which something was noted
	var texts []string
	for _, r := range runs {
		switch {
		case r.Fault != nil:
			missing = append(missing, fmt.Sprintf("run %d: %v", r.Run.Run, r.Fault))
			continue
		case r.Refused != nil:
			missing = append(missing, r.Refused.Error())
		}
		for _, v := range r.Values {
			if v.Reason != nil {
				missing = append(missing, fmt.Sprintf("run %d, %s: not measured, %s (%s)", r.Run.Run, v.Response, *v.Reason, r.File))
			}
			for _, note := range v.Notes {
				text := v.Response + ": " + note
				if of[text] == nil {
					texts = append(texts, text)
				}
				of[text] = append(of[text], strconv.Itoa(r.Run.Run))
			}
		}
	}
	for _, text := range texts {
		notes = append(notes, fmt.Sprintf("%s %s, %s", words.Agree(len(of[text]), "run", "runs"), words.List(of[text], 8), text))
	}
	return missing, notes
}

// measuredText writes a value with its uncertainty.
func measuredText(v *measure.Value) string {
	if v.Value == nil {
		return none
	}
	if v.Uncertainty == nil {
		return short(verdict.Number(*v.Value), 6)
	}
	n := decimals(verdict.Number(*v.Uncertainty))
	return digits(verdict.Number(*v.Value), n) + " ± " + digits(verdict.Number(*v.Uncertainty), n)
}

// MeasuredRows are the rows of a CSV of what was measured, one a value.
func MeasuredRows(runs []measure.Stored) (head []string, rows [][]string) {
	head = []string{"run", "log", "response", "unit", "value", "uncertainty", "steps", "spread", "reason"}
	number := func(x *float64) string {
		if x == nil {
			return ""
		}
		return full(verdict.Number(*x))
	}
	for _, r := range runs {
		for _, v := range r.Values {
			reason := ""
			if v.Reason != nil {
				reason = *v.Reason
			}
			rows = append(rows, []string{strconv.Itoa(r.Run.Run), r.File, v.Response, v.Unit, number(v.Value), number(v.Uncertainty), strconv.Itoa(v.Steps), number(v.Spread), reason})
		}
	}
	return head, rows
}

// Arrived says what a log gave that has just come in, and what to set next; in is as for Next.
func Arrived(s *sheet.Sheet, r *measure.Stored, in string) *Document {
	d := &Document{}
	var parts []string
	for k := range r.Values {
		if v := &r.Values[k]; v.Value != nil {
			parts = append(parts, v.Response+" "+withUnit(measuredText(v), v.Unit))
		}
	}
	if parts == nil {
		parts = []string{"nothing was measured"}
	}
	d.Text("Run %d (%s): %s.", r.Run.Run, r.File, strings.Join(parts, ", "))
	next(d, s.Campaign, s.Next(), in)
	return d
}
