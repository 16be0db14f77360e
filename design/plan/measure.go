package plan

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/unit"
)

// parts are the keys of a measure beside what and of: those it needs, then those it may have.
var parts = map[string]struct{ needs, may []string }{
	design.MeasureTransition: {[]string{"from", "to"}, []string{"command", "edge"}},
	design.MeasureDelay:      {[]string{"to", "command"}, []string{"edge"}},
	design.MeasureSlope:      {[]string{"window"}, []string{"command", "edge"}},
	design.MeasureOvershoot:  {nil, []string{"command", "edge"}},
	design.MeasureSettling:   {[]string{"within"}, []string{"command", "edge"}},
	design.MeasureSteady:     {nil, []string{"command", "edge"}},
	design.MeasureHighest:    {[]string{"hold"}, []string{"command"}},
	design.MeasureValue:      {[]string{"where", "at"}, []string{"command"}},
	design.MeasureGradient:   {[]string{"over", "from", "to"}, []string{"command"}},
	design.MeasureIntegral:   {nil, []string{"command"}},
	design.MeasureChange:     {nil, []string{"command"}},
}

// measure reads [response.measure] of a response with a unit.
func (r *planReader) measure(t *table, c *design.Plan, p *design.Response) *design.Measure {
	s := r.section(t, "[response.measure]")
	if c.Log == nil {
		s.add(t.at, "a response is measured from logs, and the plan does not say what stands in them", `add [log]; "fairrun measure --inspect FILE" proposes it`)
		return nil
	}
	m := &design.Measure{}
	what, found, ok := s.word("what")
	if !found {
		s.lacks("what")
	}
	if !found || !ok {
		return nil
	}
	m.What = what
	for _, key := range parts[what].needs {
		if t.byKey[key] == nil {
			s.missing(key, fmt.Sprintf("%s needs it: %s", what, s.keys.key(key).add()))
		}
	}
	for _, e := range t.entries {
		if e.key != "what" && e.key != "of" && slices.ContainsFunc(s.keys.keys, func(k key) bool { return k.name == e.key }) && !slices.Contains(parts[what].needs, e.key) && !slices.Contains(parts[what].may, e.key) {
			s.add(e.at, fmt.Sprintf("%s has no %s", what, e.key), "take it out; "+partsOf(what))
		}
	}
	signal := func(key string) (name string, u unit.Unit) {
		text, found, ok := s.text(key)
		if !found || !ok {
			return "", u
		}
		units := signalUnits(c)
		if u, known := units[text]; known {
			return text, u
		}
		if !named(c, text) {
			s.add(t.byKey[key].value.at, fmt.Sprintf("%s is %q, which is no column of [log.columns] and no [[signal]]", key, text), oneOf(text, slices.Sorted(maps.Keys(units))...))
		}
		return "", u // its fault is noted where it stands
	}
	var of, over unit.Unit
	if m.Of, of = signal("of"); t.byKey["of"] == nil {
		s.lacks("of")
	}
	m.Command, _ = signal("command")
	edge, _, _ := s.word("edge")
	m.Falling = edge == "falling"
	second, _ := unit.Parse("s")
	switch what {
	case design.MeasureTransition:
		m.From, m.To = s.reference("from", of), s.reference("to", of)
		if m.From == m.To && m.From != (design.Quantity{}) {
			s.add(t.byKey["to"].value.at, "from and to are the same", "write two levels, such as 10% and 90%")
		}
	case design.MeasureDelay:
		m.To = s.reference("to", of)
	case design.MeasureSettling:
		if m.Within = s.reference("within", of); m.Within.Unit != "%" && m.Within != (design.Quantity{}) {
			s.add(t.byKey["within"].value.at, "within is "+m.Within.String(), `write a share of the step: "2%"`)
		}
	case design.MeasureSlope:
		m.Window = s.positive("window", second)
	case design.MeasureHighest:
		m.Hold = s.positive("hold", second)
	case design.MeasureValue:
		m.Over, over = signal("where")
		m.At, _, _ = s.quantityIn("at", over)
	case design.MeasureGradient:
		m.Over, over = signal("over")
		m.From, _, _ = s.quantityIn("from", over)
		m.To, _, _ = s.quantityIn("to", over)
	}
	for _, name := range []string{m.Of, m.Over} {
		for _, column := range c.LogColumns(name) {
			if column.Zero && m.Command == "" {
				s.add(t.at, fmt.Sprintf("%s has zero = \"start\", and the measure has no command", column.Name), "add command = , the signal before whose first edge the zero is read")
			}
		}
	}
	if needsOver := what == design.MeasureValue || what == design.MeasureGradient; m.Of != "" && (m.Over != "" || !needsOver) {
		r.measuredIn(t, p, m, m.Unit(of, over))
	}
	return m
}

// partsOf lists the keys of a measure.
func partsOf(what string) string {
	of := parts[what]
	return fmt.Sprintf("%s has what, %s", what, strings.Join(append(append([]string{"of"}, of.needs...), of.may...), ", "))
}

// reference reads a share of the step or a value of the signal.
func (s section) reference(key string, of unit.Unit) design.Quantity {
	e := s.table.byKey[key]
	if e != nil && e.value.kind == kindText {
		if x, isPercent := parsePercent(e.value.text); isPercent {
			if !(x > 0 && x < 1) {
				s.add(e.value.at, fmt.Sprintf("%s is %q", key, e.value.text), "a share of the step lies between 0% and 100%")
				return design.Quantity{}
			}
			return design.Quantity{Value: x, Unit: "%"}
		}
	}
	q, _, _ := s.quantityIn(key, of)
	return q
}

// positive reads a number with a unit that is above zero.
func (s section) positive(key string, like unit.Unit) design.Quantity {
	q, found, ok := s.quantityIn(key, like)
	if found && ok && q.Value <= 0 {
		s.add(s.table.byKey[key].value.at, key+" is "+q.String(), "it must be above zero")
		return design.Quantity{}
	}
	return q
}

// measuredIn checks that a response can be given in its unit.
func (r *planReader) measuredIn(t *table, p *design.Response, m *design.Measure, comes unit.Unit) {
	wanted, err := unit.Parse(p.Unit)
	if err != nil {
		r.add(t.at, fmt.Sprintf("%s is measured in %q, which is no unit that is known", p.Name, p.Unit), `write the unit of the response by its sign, such as "ms", "N" or "N/W"`)
		return
	}
	if _, err := comes.In(wanted); err != nil || unit.Shifted(comes, wanted) && !m.Difference() {
		is := comes.String()
		if is == "" {
			is = comes.Base()
		}
		if is == "" {
			is = "no unit"
		}
		r.add(t.at, fmt.Sprintf("%s comes in %s, and the unit of %s is %q", m.What, is, p.Name, p.Unit), "write a unit of the response that measures the same")
	}
}
