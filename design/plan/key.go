package plan

import (
	"fmt"
	"slices"
	"strings"
)

// key is what is known of one key of a file: it serves the reader, Starter and docs/files.md.
type key struct {
	name     string // in capitals where a person's own name stands: FACTOR
	form     form
	least    float64   // limits of portion, bounded, temperature; of time the upper one, in hours
	most     float64   // 0 and 0: none
	words    []string  // allowed, of word
	measures []measure // of quantity
	unit     string    // that is written behind the number, or in which it counts
	fallback string    // the default as it would be written, or where it comes from; "" where there is none
	required bool
	offered  bool   // Starter writes the key behind a "#"
	meaning  string // one line
	example  string // as it would be written
}

// form is how a value is written.
type form string

const (
	text        form = "text"
	word        form = "word"
	whole       form = "whole number"
	number      form = "number"
	bounded     form = "number within limits"
	truth       form = "true or false"
	chance      form = "number between 0 and 1"
	share       form = "percentage up to 100"
	portion     form = "percentage within limits"
	amount      form = "percentage, or number in the response's unit"
	span        form = "time"
	quantity    form = "number with its unit"
	temperature form = "number with its unit, within limits"
	setting     form = "one of the levels"
	list        form = "list"
	sized       form = "number with any unit of its kind"
	reference   form = "percentage of the step, or number with a unit"
)

// tableKeys is what is known of one table of a file.
type tableKeys struct {
	head    string // as a person would point to it: "[block]", "[[factor]]", "[readings.NAME]"
	meaning string // one line
	offered string // Starter writes the table behind a "#", with this head
	keys    []key
	tables  []string // names of the tables within it
}

// keysOf returns what is known of the table with a head; nothing of one whose keys are names of the plan.
func keysOf(head string) tableKeys {
	for _, tables := range [][]tableKeys{planKeys, noiseKeys} {
		for _, t := range tables {
			if t.head == head {
				return t
			}
		}
	}
	return tableKeys{head: head}
}

// allowed returns all names that may stand in the table.
func (t tableKeys) allowed() []string {
	var names []string
	for _, k := range t.keys {
		names = append(names, k.name)
	}
	return append(names, t.tables...)
}

// key returns what is known of a key: by its name or, where names of the plan stand, as any of them.
func (t tableKeys) key(name string) key {
	for _, k := range t.keys {
		if k.name == name || k.name == strings.ToUpper(k.name) {
			return k
		}
	}
	panic("plan: there is no key " + name + " in " + t.head)
}

// add advises to add the key.
func (k key) add() string { return fmt.Sprintf("add %s = %s: %s", k.name, k.example, k.meaning) }

// units returns the units that may be written.
func (k key) units() []string {
	switch {
	case k.form == span:
		return []string{"s", "min", "h"}
	case k.measures != nil:
		var names []string
		for _, m := range k.measures {
			names = append(names, m.unit)
		}
		return names
	}
	if k.unit == "" {
		return nil
	}
	return []string{k.unit}
}

// offeredKeys returns the keys of a table that Starter writes behind a "#", but for those that are
// there already.
func (t tableKeys) offeredKeys(written []string) []key {
	return slices.DeleteFunc(slices.Clone(t.keys), func(k key) bool { return !k.offered || slices.Contains(written, k.name) })
}
