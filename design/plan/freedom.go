package plan

import (
	"fairrun/design"
	"fairrun/stats/words"
	"fmt"
)

// baselines checks that a comparison with the baseline has one.
func (r *planReader) baselines(root *table, c *design.Plan) {
	if c.Analysis.Compare != design.CompareBaseline {
		return
	}
	at := root.byKey["analysis"].value.table.byKey["compare"].value.at
	levels := make([]string, len(c.Factors))
	var without []string
	for i, f := range c.Factors {
		levels[i] = f.Baseline
		if f.Baseline == "" {
			without = append(without, f.Name)
		}
	}
	if without != nil {
		r.add(at, "compare is \"baseline\", but there is none for "+words.List(without, 12), "add baseline = …, one of the levels, to each")
		return
	}
	if c.Chosen == nil || !c.Interactions {
		return
	}
	base := design.Treatment{Levels: levels}.String()
	for _, t := range c.Treatments() {
		if t.String() == base {
			return
		}
	}
	r.add(at, fmt.Sprintf("compare is \"baseline\", but the baselines together, %q, are none of the chosen treatments", base), "add that treatment, or change the baselines")
}

// looks checks that there is a block for each look: a look comes after a block is done.
func (r *planReader) looks(root *table, c *design.Plan) {
	if c.Analysis.Looks <= c.Block.Count {
		return
	}
	at := root.byKey["analysis"].value.table.byKey["looks"].value.at
	r.add(at, fmt.Sprintf("%d looks need at least %s, one before each look; the plan has %d", c.Analysis.Looks, c.Block.Many(c.Analysis.Looks), c.Block.Count),
		fmt.Sprintf("write looks = %d or less", c.Block.Count))
}
