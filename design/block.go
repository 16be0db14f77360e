package design

import (
	"cmp"

	"fairrun/stats/words"
)

// Block is what cannot last for the whole campaign, a pack charge or a session, so that runs are
// compared within it. Either Replicates or Runs is set: with Replicates every treatment is run
// that often in each block (complete blocks); with Runs a block holds that many runs, in which not
// all treatments are run equally often (incomplete blocks).
type Block struct {
	Name       string `json:"name"`                 // "pack", "session"; "block" when the plan does not say
	Several    string `json:"plural,omitempty"`     // what several are called; "" for the regular plural of the name
	Fixed      bool   `json:"fixed,omitempty"`      // the verdict is to hold for these blocks, not for others like them (random = false)
	Count      int    `json:"count"`                // number of blocks
	Replicates int    `json:"replicates,omitempty"` // runs of each treatment in each block; 0 with incomplete blocks
	Runs       int    `json:"runs,omitempty"`       // drawn runs in each incomplete block; 0 with complete blocks
}

// DefaultBlock is what a block is called when the plan does not say.
const DefaultBlock = "block"

// Many returns a number of blocks in words: "1 pack", "4 packs".
func (b Block) Many(n int) string { return words.CountOf(n, b.Name, b.Plural()) }

// Plural returns what several blocks are called: "packs".
func (b Block) Plural() string { return cmp.Or(b.Several, words.Plural(b.Name)) }

// Plurals are the plurals of the plan that are not regular, by the name of the thing; nil without.
func (c *Plan) Plurals() map[string]string {
	if c.Block.Several == "" {
		return nil
	}
	return map[string]string{c.Block.Name: c.Block.Several}
}

// PluralOf returns what several of a thing of the plan are called, by its name.
func (c *Plan) PluralOf(name string) string { return cmp.Or(c.Plurals()[name], words.Plural(name)) }
