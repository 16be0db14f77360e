package plan

import (
	"fairrun/design"
	"fairrun/stats/words"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

const (
	// mostLevels bounds the levels of all factors of a plan together.
	mostLevels = 500
	// longestLevel bounds the text of a level, which stands in every row of the sheet.
	longestLevel = 60
	// longestUnit bounds the text of a unit.
	longestUnit = 20
)

// factorPlaces keeps where the parts of a factor stand, for faults found once the plan is whole.
type factorPlaces struct {
	at     int
	levels []int
}

// factor reads one [[factor]].
func (r *planReader) factor(t *table) (f design.Factor, places factorPlaces, ok bool) {
	s := r.section(t, "[[factor]]")
	places.at = t.at
	name, okName := s.columnName(r.names, "factor")
	f.Name = name
	unit, okUnit := s.unit("unit")
	f.Unit = unit
	okLevels := s.levels(&f, &places)
	okBase := true
	if e := t.byKey["baseline"]; e != nil && okLevels {
		var what, do string
		if f.Baseline, what, do = levelOf(&f, e.value); what != "" {
			s.add(e.value.at, "baseline is "+what, do)
			okBase = false
		}
	}
	hard, _, okHard := s.truth("hard_to_change")
	f.HardToChange = hard
	return f, places, okName && okUnit && okLevels && okBase && okHard
}

// unit returns the unit under a key, "" when there is none.
func (s section) unit(key string) (unit string, ok bool) {
	e := s.table.byKey[key]
	if e != nil && e.value.kind == kindText && e.value.text == "" {
		return "", true
	}
	unit, found, ok := s.text(key)
	if found && ok {
		if what, do := lineFault(unit, longestUnit); what != "" {
			s.add(e.value.at, key+" "+what, do)
			return "", false
		}
	}
	return unit, ok
}

// levels reads the levels of a factor: all numbers, or all texts.
func (s section) levels(f *design.Factor, places *factorPlaces) bool {
	e := s.table.byKey["levels"]
	if e == nil {
		s.lacks("levels")
		return false
	}
	if e.value.kind != kindList || e.value.tables {
		s.add(e.value.at, "levels is "+e.value.describe(), `write a list, such as [0, 4, 8] or ["A", "B"]`)
		return false
	}
	if n := len(e.value.items); n > mostLevels {
		s.add(e.value.at, fmt.Sprintf("levels has %d levels", n), fmt.Sprintf("a plan may have at most %d", mostLevels))
		return false
	}
	ok := true
	for i, v := range e.value.items {
		numeric := v.kind == kindInteger || v.kind == kindFloat
		if i == 0 {
			f.Numeric = numeric
		}
		what, do := levelFault(v)
		switch {
		case what != "":
		case numeric != f.Numeric:
			what, do = fmt.Sprintf("levels are numbers and texts: %s after %s", v.describe(), e.value.items[0].describe()), "write all with quotes, or all without"
		default:
			if j := levelIndex(f, v); j >= 0 {
				what, do = fmt.Sprintf("the level %s stands twice", v.text), "take one of them out"
				if f.Levels[j] != v.text {
					what = fmt.Sprintf("the levels %s and %s are the same number", f.Levels[j], v.text)
				}
			}
		}
		if what != "" {
			s.add(v.at, what, do)
			ok = false
			continue
		}
		f.Levels = append(f.Levels, v.text)
		places.levels = append(places.levels, v.at)
		if f.Numeric {
			x, _, _ := v.number()
			f.Values = append(f.Values, x)
		}
	}
	if ok && len(f.Levels) < 2 {
		s.add(e.value.at, fmt.Sprintf("levels has %d of the at least 2 levels a factor needs", len(f.Levels)), "add a level, or take the factor out of the plan")
		return false
	}
	return ok
}

// levelFault says what keeps a value from being a level.
func levelFault(v *value) (what, do string) {
	switch v.kind {
	case kindInteger, kindFloat:
		if strings.ContainsFunc(v.text, func(r rune) bool { return r == '_' || r == 'x' || r == 'o' || r == 'b' }) {
			return fmt.Sprintf("the level %s cannot stand in a sheet as it is", v.text), "write it in plain decimal digits"
		}
		if _, what, do := v.number(); what != "" {
			return "the level is " + what, do
		}
		return "", ""
	case kindText:
		if what, do := lineFault(v.text, longestLevel); what != "" {
			return "the level " + what, do
		}
		if strings.ContainsRune("=@+-", rune(v.text[0])) {
			if _, err := strconv.ParseFloat(v.text, 64); err != nil || strings.ContainsRune("=@", rune(v.text[0])) {
				return fmt.Sprintf("a spreadsheet would take the level %q for a formula", v.text), "begin it with a letter or a digit"
			}
		}
		return "", ""
	case kindBool, kindTime:
		return fmt.Sprintf("the level is %s, neither a number nor a text", v.describe()), fmt.Sprintf("put it in quotes: %q", v.text)
	}
	return fmt.Sprintf("the level is %s", v.describe()), `write a number or a text, such as 4 or "A"`
}

// levelIndex returns which level a value is, numbers being compared as numbers; -1 when it is none.
func levelIndex(f *design.Factor, v *value) int {
	if f.Numeric {
		x, what, _ := v.number()
		if what != "" {
			return -1
		}
		return slices.Index(f.Values, x)
	}
	if v.kind != kindText {
		return -1
	}
	return slices.Index(f.Levels, v.text)
}

// levelOf returns the text of the level that a value names, or what it is instead and what to do.
func levelOf(f *design.Factor, v *value) (text, what, do string) {
	if i := levelIndex(f, v); i >= 0 {
		return f.Levels[i], "", ""
	}
	what = fmt.Sprintf("%s, no level of %s", v.describe(), calledFactor(f))
	if (v.kind == kindText || v.scalar()) && slices.Contains(f.Levels, v.text) {
		if f.Numeric {
			return "", what, fmt.Sprintf("write %s without quotes", v.text)
		}
		return "", what, fmt.Sprintf("write %q in quotes", v.text)
	}
	return "", what, "levels: " + words.List(f.Levels, 12)
}

// calledFactor returns the factor's name for a message, also before it has one.
func calledFactor(f *design.Factor) string {
	if f.Name == "" {
		return "this factor"
	}
	return f.Name
}
