package render

import (
	"fmt"
	"slices"

	"fairrun/design/analysis"
	"fairrun/design/cost"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Extension says what was added to a campaign, what it costs and what it gains.
func Extension(before, after *sheet.Sheet, was, is *analysis.Explanation) *Document {
	c := after.Campaign
	d := &Document{}
	d.Heading("%s", c.Title)
	added := len(after.Draw.Order.Blocks) - len(before.Draw.Order.Blocks)
	what := c.Block.Many(added)
	drawing := after.Draw.Draws[len(after.Draw.Draws)-1]
	if drawing.FoldOver != "" {
		what += " with the fold-over"
	}
	text := fmt.Sprintf("Added %s: %s, numbers %d to %d", what, words.Count(len(after.Runs)-len(before.Runs), "run"), len(before.Runs)+1, len(after.Runs))
	if t := cost.BenchTime(after.Campaign, after.Draw.Order.Blocks) - cost.BenchTime(after.Campaign, before.Draw.Order.Blocks); t > 0 {
		text += ", about " + hours(t) + " at the bench"
	}
	d.Text("%s. The campaign now has %s, %s.", text, c.Block.Many(len(after.Draw.Order.Blocks)), words.Count(len(after.Runs), "run"))
	if text := sessions(after); text != "" {
		d.Text("%s", text)
	}
	d.Table(blockRows(orderTable(after), len(before.Draw.Order.Blocks)))
	if key := roleKey(after.Draw.Order.Plan); key != "" {
		d.Text("%s", key)
	}
	d.Text("%s", extended(before, after))
	if o := &after.Draw.Order; o.Plan.Runs > 0 {
		d.Text("%s%s Before it was %s.", incomplete(c, o), inSessions(after), short(verdict.Number(before.Draw.Order.BlockEfficiency), 4))
	}
	if after.Draw.Order.Fold != nil {
		d.Text("%s", screen(c))
	}
	if t := gains(was, is); len(t.Rows) > 0 {
		d.Text("Smallest difference found with a chance of %s, by the least precise comparison of each family:", inTerms(verdict.Number(c.Analysis.Power), true, "", 4))
		d.Table(t)
	}
	d.Text("Rows that were there are as they were; %s and %s are brought up to date.", sheet.DrawFile, sheet.PlanFile)
	return d
}

// extended says how the blocks added were drawn and how good the longer order is.
func extended(before, after *sheet.Sheet) string {
	was, is := &before.Draw.Order, &after.Draw.Order
	text := fmt.Sprintf("Drawn from seed %d, ", was.NextSeed())
	var grown []order.Extension // of either part
	if is.Fold != nil && was.Fold != nil {
		grown = is.Fold.Drawn.Extensions[len(was.Fold.Drawn.Extensions):]
	}
	grown = slices.Concat(is.Extensions[len(was.Extensions):], grown)
	switch {
	case is.Fold != nil && was.Fold == nil:
		text += "apart from the others and by the same rule. "
	case len(grown) == 1 && grown[0].Candidates > 1:
		text += fmt.Sprintf("the best of %d random candidates for the %s added. ", grown[0].Candidates, after.Campaign.Block.Plural())
	case slices.ContainsFunc(grown, func(e order.Extension) bool { return e.Candidates > 1 }):
		text += fmt.Sprintf("the best of random candidates for the %s added, those of the fold-over apart. ", after.Campaign.Block.Plural())
	default:
		text += "as the first ones were. "
	}
	return text + fmt.Sprintf("Efficiency of the whole order: %s, %s before.", short(verdict.Number(is.Efficiency), 4), short(verdict.Number(was.Efficiency), 4))
}

// blockRows leaves out the first blocks of an order table.
func blockRows(t Table, from int) Table {
	if len(t.Rows) > from {
		t.Rows = t.Rows[from:]
	}
	return t
}

// gains shows how the smallest difference that can be found changes.
func gains(was, is *analysis.Explanation) Table {
	t := Table{Align: "llrrrr", Groups: []int{2, 4}, Head: []string{"factor", "response", "before", "now", "of the noise, before", "now"}}
	for i, f := range is.Families {
		if i >= len(was.Families) || len(was.Families[i].Responses) != len(f.Responses) {
			continue
		}
		for j, x := range f.Responses {
			old := was.Families[i].Responses[j]
			row := []string{f.Factors.Term(), x.Name, none, none, short(old.InNoise, 3), short(x.InNoise, 3)}
			if x.Value.Known() && old.Value.Known() {
				row[2], row[3] = inTerms(old.Value, old.Relative, x.Unit, 3), inTerms(x.Value, x.Relative, x.Unit, 3)
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}
