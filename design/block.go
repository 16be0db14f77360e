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

// defaultBlock is what a block is called when the plan does not say.
const defaultBlock = "block"

// block reads [block].
func (r *planReader) block(t *table) (b Block, ok bool) {
	s := r.section(t, "[block]", "name", "count", "replicates", "runs")
	b.Name = defaultBlock
	name, found, okName := s.text("name")
	if found && okName && name != defaultBlock {
		okName = s.claim(r.names, name, "block", t.byKey["name"].value.at)
		b.Name = name
	}
	count, found, okCount := s.count("count")
	if !found {
		s.missing("count", "add count = 4: how many packs or sessions there are")
		okCount = false
	}
	b.Count = count
	replicates, hasReplicates, okReplicates := s.count("replicates")
	runs, hasRuns, okRuns := s.count("runs")
	b.Replicates, b.Runs = replicates, runs
	ok = okName && okCount && okReplicates && okRuns
	switch {
	case hasReplicates && hasRuns:
		s.add(t.byKey["runs"].at, "replicates and runs exclude each other",
			"keep replicates when a block holds every treatment, runs when it holds fewer runs than there are treatments")
		ok = false
	case !hasReplicates && !hasRuns:
		s.missing("replicates", "add replicates = 2: how often each treatment is run in each block; or runs = 6 when a block lasts fewer runs than there are treatments")
		ok = false
	}
	return b, ok
}

// many returns a number of blocks in words: "1 pack", "4 packs".
func (b Block) many(n int) string { return words.Count(n, b.Name) }

// Plural returns what several blocks are called: "packs".
func (b Block) Plural() string { return words.Plural(b.Name) }
