package plan

import "fairrun/design"

// block reads [block].
func (r *planReader) block(t *table) (b design.Block, ok bool) {
	s := r.section(t, "[block]")
	b.Name = design.DefaultBlock
	name, found, okName := s.text("name")
	if found && okName && name != design.DefaultBlock {
		okName = s.claim(r.names, name, "block", t.byKey["name"].value.at)
		b.Name = name
	}
	count, found, okCount := s.count("count")
	if !found {
		s.lacks("count")
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
