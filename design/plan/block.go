package plan

import (
	"fairrun/design"
	"fairrun/stats/words"
)

// block reads [block].
func (r *planReader) block(t *table) (b design.Block, ok bool) {
	s := r.section(t, "[block]")
	b.Name = design.DefaultBlock
	name, found, okName := s.text("name")
	if found && okName && name != design.DefaultBlock {
		okName = s.claim(r.names, name, "block", t.byKey["name"].value.at)
		b.Name = name
	}
	several, okSeveral := s.plural("plural", b.Name)
	b.Several = several
	random, hasRandom, okRandom := s.truth("random")
	b.Fixed = hasRandom && okRandom && !random
	count, found, okCount := s.count("count")
	if !found {
		s.lacks("count")
		okCount = false
	}
	b.Count = count
	replicates, hasReplicates, okReplicates := s.count("replicates")
	runs, hasRuns, okRuns := s.count("runs")
	b.Replicates, b.Runs = replicates, runs
	ok = okName && okSeveral && okRandom && okCount && okReplicates && okRuns
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

// plural returns what several of a thing are called; "" where that is its regular plural.
func (s section) plural(key, name string) (several string, ok bool) {
	several, found, ok := s.text(key)
	if what, do := lineFault(several, longestName); found && ok && what != "" {
		s.add(s.table.byKey[key].value.at, key+" "+what, do)
		return "", false
	}
	if several == words.Plural(name) {
		return "", ok
	}
	return several, ok
}
