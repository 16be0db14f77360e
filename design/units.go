package design

import (
	"fmt"

	"fairrun/stats/words"
)

// Units are several things of one type, a sample of it: what is compared is to hold for the type and
// not for one motor alone. Each block belongs to one unit, in turn: block 1 to unit 1, and after the
// last unit the first again.
type Units struct {
	Name  string `json:"name"`  // "motor": heads the sheet's column
	Count int    `json:"count"` // how many there are
}

// defaultUnit is what a unit is called when the plan does not say.
const defaultUnit = "unit"

// Of returns the number of the unit that a block belongs to, both from 1; 0 when the plan has no
// units.
func (u *Units) Of(block int) int {
	if u == nil {
		return 0
	}
	return (block-1)%u.Count + 1
}

// Plural returns what several units are called: "motors".
func (u *Units) Plural() string { return words.Plural(u.Name) }

// Many returns a number of units in words: "1 motor", "3 motors".
func (u *Units) Many(n int) string { return words.Count(n, u.Name) }

// units reads [units] of a plan whose blocks are known.
func (r *planReader) units(t *table, b Block) *Units {
	s := r.section(t, "[units]", "name", "count")
	u := &Units{}
	u.Name, _ = s.columnNameOr(r.names, defaultUnit, "unit")
	n, found, ok := s.count("count")
	switch {
	case !found:
		s.missing("count", "add count = 3: how many of one type are tested")
	case ok && b.Count > 0 && n > b.Count:
		s.add(t.byKey["count"].value.at, fmt.Sprintf("%s need at least %s, one on each; the plan has %d", u.Many(n), b.many(n), b.Count),
			fmt.Sprintf("write count = %d or less here, or more in [block]", b.Count))
	}
	u.Count = n
	return u
}

func (u *Units) facts() []fact {
	return []fact{{"units", "name", u.Name}, {"units", "count", fmt.Sprint(u.Count)}}
}
