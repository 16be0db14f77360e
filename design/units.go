package design

import (
	"fairrun/stats/words"
	"fmt"
)

// Units are several things of one type, a sample of it: what is compared is to hold for the type and
// not for one motor alone. Each block belongs to one unit, in turn: block 1 to unit 1, and after the
// last unit the first again.
type Units struct {
	Name  string `json:"name"`  // "motor": heads the sheet's column
	Count int    `json:"count"` // how many there are
}

// DefaultUnit is what a unit is called when the plan does not say.
const DefaultUnit = "unit"

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

func (u *Units) facts() []fact {
	return []fact{{"units", "name", u.Name}, {"units", "count", fmt.Sprint(u.Count)}}
}
