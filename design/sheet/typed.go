package sheet

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"fairrun/design/fault"
	"fairrun/design/table"
	"fairrun/stats/words"
)

// What people type at a bench is taken where it can mean one thing only: a column's name in other
// capitals, with other signs between its words; a number followed by the very unit of the plan; a
// decimal comma. What could mean another number is refused with the numbers it could mean.

// resolve puts the sheet's own headings in place of names that differ from them in capitals, blanks
// and signs between words only.
func (e *entry) resolve(set []Assignment) []Assignment {
	set = slices.Clone(set)
	for i, a := range set {
		if a.Name == "" || e.doc.Column(a.Name) >= 0 {
			continue
		}
		alike := slices.DeleteFunc(slices.Clone(e.doc.Header), func(h string) bool { return plainName(h) != plainName(a.Name) })
		if len(alike) == 1 {
			set[i].Name = alike[0]
		}
	}
	return set
}

// plainName is a name without capitals and without what separates its words.
func plainName(name string) string {
	return strings.NewReplacer(" ", "", "_", "", "-", "").Replace(strings.ToLower(name))
}

// unit is what the numbers of a column are in, "" if the plan does not say.
func (e *entry) unit(col int) string {
	if k := slices.Index(e.s.columns.checks, col); k >= 0 {
		return e.s.Campaign.Readings[k].Unit
	}
	if k := slices.Index(e.s.columns.responses, col); k >= 0 {
		return e.s.Campaign.Responses[k].Unit
	}
	return ""
}

// number reads what was typed for a check or a response, with a decimal point; it refuses, and says
// what to type, what is no number or might be two.
func (e *entry) number(col int, name, typed string) (point string, value float64, ok bool) {
	text, unit := typed, e.unit(col)
	if bare, has := strings.CutSuffix(text, unit); has && unit != "" {
		text = strings.TrimSpace(bare)
	}
	read := func(text string) bool {
		if point, value, ok = (table.Dialect{}).Number(text); !ok {
			point, value, ok = e.doc.Dialect.Number(text)
		}
		return ok
	}
	comma := withComma.FindStringSubmatch(text)
	switch {
	case read(text):
		return point, value, true
	case comma != nil && thousands(comma[1], comma[2]):
		e.refuse(col, fmt.Sprintf("%q may be %s.%s or %s%s", typed, comma[1], comma[2], comma[1], comma[2]), "write it without a comma")
		return "", 0, false
	case comma != nil && read(comma[1]+"."+comma[2]):
		return point, value, true
	}
	if other := withUnit.FindStringSubmatch(text); other != nil && unit != "" && other[2] != unit {
		e.refuse(col, fmt.Sprintf("%q is in %s, and %s is recorded in %s", typed, other[2], name, unit), fmt.Sprintf("give the number in %s: %s=…", unit, name))
		return "", 0, false
	}
	found, do := e.doc.Dialect.NotNumber(text)
	e.refuse(col, found, do)
	return "", 0, false
}

var (
	withComma = regexp.MustCompile(`^([+-]?[0-9]+),([0-9]+)$`)
	withUnit  = regexp.MustCompile(`^([+-]?[0-9.,]+(?:[eE][+-]?[0-9]+)?) ?([\pL°µ%Ω].*)$`)
)

// thousands reports whether a comma between digits may stand between thousands.
func thousands(before, after string) bool {
	digits := strings.TrimLeft(before, "+-")
	return len(after) == 3 && len(digits) <= 3 && digits[0] != '0'
}

// meant is the status that a word most likely stands for, "" if none is near.
func meant(word string) Status {
	for status, words := range map[Status][]string{
		OK:     {"okay", "good", "done", "passed", "pass", "success", "yes"},
		Failed: {"fail", "failure", "fails", "no start", "did not start", "broken"},
		Void:   {"voided", "invalid", "spoiled", "spoilt", "aborted", "abort", "cancelled", "canceled", "repeat"},
	} {
		if slices.Contains(words, strings.ToLower(word)) {
			return status
		}
	}
	return Status(words.Nearest(word, []string{string(OK), string(Failed), string(Void)}))
}

// A response that was just recorded is compared with those of the other good runs once there are as many
// as fewToCompare: one beyond them by more than farOut times may have lost a digit or its decimal mark.
// Settings seldom make a difference of that size, and if they do it is said once for the run.
const (
	fewToCompare = 3
	farOut       = 4
)

// strays warns of responses of a run, which was read as was before and has the row given in the
// table, that lie far from all others.
func (s *Sheet) strays(was *Run, run, row int) fault.List {
	r := &s.Runs[run-1]
	var out fault.List
	for k := range s.Campaign.Responses {
		name := s.Campaign.Responses[k].Name
		if r.Status != OK || r.Role == Warmup || r.Values[k] == "" || r.Values[k] == was.Values[k] {
			continue
		}
		var least, most string
		low, high, n := 0.0, 0.0, 0
		for i := range s.Runs {
			o := &s.Runs[i]
			_, v, ok := table.Dialect{}.Number(o.Values[k])
			if o == r || o.Status != OK || o.Role == Warmup || !ok {
				continue
			}
			if n == 0 || v < low {
				low, least = v, o.Values[k]
			}
			if n == 0 || v > high {
				high, most = v, o.Values[k]
			}
			n++
		}
		_, v, _ := table.Dialect{}.Number(r.Values[k])
		if n < fewToCompare || low <= 0 || v <= 0 || v*farOut >= low && v <= high*farOut {
			continue
		}
		f := s.doc.Place(row, s.columns.responses[k])
		f.Found = fmt.Sprintf("%s is %s, and the %d other runs hold %s to %s", name, r.Values[k], n, least, most)
		f.Do = fmt.Sprintf("see whether a digit or the decimal mark slipped: fairrun record %d %s=… --replace; if it is right, let it stand", run, name)
		out = append(out, f)
	}
	return out
}
