package design

import (
	"fmt"

	"fairrun/stats/words"
)

// Specimens are several things of one type, a sample of it: what is compared is to hold for the type and
// not for one motor alone. Each block belongs to one specimen, in turn: block 1 to specimen 1, and after
// the last specimen the first again.
type Specimens struct {
	Name  string `json:"name"`  // "motor": heads the sheet's column
	Count int    `json:"count"` // how many there are
}

// DefaultSpecimen is what a specimen is called when the plan does not say.
const DefaultSpecimen = "specimen"

// Of returns the number of the specimen that a block belongs to, both from 1; 0 when the plan has no
// specimens.
func (s *Specimens) Of(block int) int {
	if s == nil {
		return 0
	}
	return (block-1)%s.Count + 1
}

// Plural returns what several specimens are called: "motors".
func (s *Specimens) Plural() string { return words.Plural(s.Name) }

// Many returns a number of specimens in words: "1 motor", "3 motors".
func (s *Specimens) Many(n int) string { return words.Count(n, s.Name) }

func (s *Specimens) facts() []fact {
	return []fact{{"specimens", "name", s.Name}, {"specimens", "count", fmt.Sprint(s.Count)}}
}
