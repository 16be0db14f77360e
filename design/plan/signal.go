package plan

import (
	"fmt"
	"slices"

	"fairrun/design"
	"fairrun/design/formula"
	"fairrun/design/unit"
)

// signalUnits are the units of all columns and signals that were read without fault.
func signalUnits(c *design.Plan) map[string]unit.Unit {
	units := map[string]unit.Unit{}
	put := func(name, of string, needed bool) {
		if u, err := unit.Parse(of); err == nil && (of != "" || !needed) {
			units[name] = u
		}
	}
	if c.Log != nil {
		for _, column := range c.Log.Columns {
			put(column.Name, column.Unit, true)
		}
	}
	for _, s := range c.Signals {
		if s.Formula != "" {
			put(s.Name, s.Unit, false)
		}
	}
	return units
}

// named reports whether a column or signal has a name, faulty or not.
func named(c *design.Plan, name string) bool {
	return c.Signal(name) != nil || c.Log != nil && c.Log.Column(name) != nil
}

// signal reads one [[signal]] and adds it to the plan.
func (r *planReader) signal(t *table, c *design.Plan) {
	s := r.section(t, "[[signal]]")
	name, found, ok := s.text("name")
	switch {
	case !found:
		s.lacks("name")
	case ok && !signalWord(name):
		s.add(t.byKey["name"].value.at, fmt.Sprintf("%q cannot name a signal", name), "use letters, digits and _, a letter first")
	case ok && named(c, name):
		s.add(t.byKey["name"].value.at, fmt.Sprintf("there is another signal or column %q", name), "choose another name")
	}
	signal := design.Signal{Name: name}
	u, _, okUnit := s.unitOf("unit", "")
	signal.Unit = u.String()
	text, found, ok := s.text("formula")
	if !found {
		s.lacks("formula")
	}
	if found && ok && okUnit {
		at := t.byKey["formula"].value.at
		switch f, err := formula.Parse(text, signalUnits(c)); {
		case c.Log == nil:
			s.add(t.at, "a signal is computed from logs, and the plan does not say what stands in them", `add [log]; "fairrun measure --inspect FILE" proposes it`)
		case err != nil:
			s.add(at, fmt.Sprintf("formula is %q: %v", shorten(text), err), "mend it: signals by their names, numbers, + - * / ^, and quantities in quotes")
		case !f.Unit.Like(u):
			is := f.Unit.Base()
			if is == "" {
				is = "no unit"
			}
			s.add(at, fmt.Sprintf("formula comes in %s, and the unit of %s is %q", is, name, u.String()), "write a unit that measures the same, or mend the formula")
		default:
			signal.Formula = text
			for _, n := range f.Names {
				for _, column := range c.LogColumns(n) {
					if !slices.Contains(signal.Columns, column.Name) {
						signal.Columns = append(signal.Columns, column.Name)
					}
				}
			}
		}
	}
	c.Signals = append(c.Signals, signal)
}
