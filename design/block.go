package design

// Block is what cannot last for the whole campaign, a pack charge or a session, so that runs are
// compared within it. Either Replicates or Runs is set: with Replicates every treatment is run
// that often in each block (complete blocks); with Runs a block holds that many runs, fewer than
// there are treatments (incomplete blocks).
type Block struct {
	Name       string // "pack", "session"; "block" when the plan does not say
	Count      int    // number of blocks
	Replicates int    // runs of each treatment in each block; 0 with incomplete blocks
	Runs       int    // runs in each incomplete block; 0 with complete blocks
}
