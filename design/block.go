package design

import "fairrun/stats/words"

// Block is what cannot last for the whole campaign, a pack charge or a session, so that runs are
// compared within it. Either Replicates or Runs is set: with Replicates every treatment is run
// that often in each block (complete blocks); with Runs a block holds that many runs, in which not
// all treatments are run equally often (incomplete blocks).
type Block struct {
	Name       string `json:"name"`                 // "pack", "session"; "block" when the plan does not say
	Count      int    `json:"count"`                // number of blocks
	Replicates int    `json:"replicates,omitempty"` // runs of each treatment in each block; 0 with incomplete blocks
	Runs       int    `json:"runs,omitempty"`       // drawn runs in each incomplete block; 0 with complete blocks
}

// DefaultBlock is what a block is called when the plan does not say.
const DefaultBlock = "block"

// Many returns a number of blocks in words: "1 pack", "4 packs".
func (b Block) Many(n int) string { return words.Count(n, b.Name) }

// Plural returns what several blocks are called: "packs".
func (b Block) Plural() string { return words.Plural(b.Name) }
