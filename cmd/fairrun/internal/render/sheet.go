package render

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// widestBlock is the most runs of a block that are shown on one line.
const widestBlock = 16

// Sheet says what a drawn sheet costs, the cautions, and the order; full says more of how good the order is.
func Sheet(s *sheet.Sheet, full bool) *Document {
	c, o := s.Campaign, &s.Draw.Order
	d := &Document{}
	d.Heading("%s", c.Title)
	text := takes(s)
	if c.Budget != nil && c.Budget.RestUntil != nil {
		text += " " + rests(c)
	}
	d.Text("%s", text)
	if text := sessions(s); text != "" {
		d.Text("%s", text)
	}
	cautions(d)
	d.Heading("Order")
	d.Table(orderTable(s))
	if key := roleKey(o.Plan); key != "" {
		d.Text("%s", key)
	}
	if text := items(c); text != "" {
		d.Text("%s", text)
	}
	if u := c.Specimens; u != nil && u.Count > 1 {
		d.Text("Each %s belongs to one %s, in turn: the column %s says which.", c.Block.Name, u.Name, u.Name)
	}
	if full {
		d.Text("%s", draw(c, o)+fewOrders(c, o))
	} else {
		d.Text("%s", drawBriefly(c, o)+fewOrders(c, o))
	}
	if o.Plan.Runs > 0 && full {
		d.Text("%s%s", incomplete(c, o), inSessions(s))
	}
	if o.Plan.WholePlots != nil {
		d.Text("%s", strata(c, o))
	}
	if c.Order.Screen != nil {
		d.Text("%s", screen(c))
	}
	return d
}

// cautions is the safety text.
func cautions(d *Document) {
	d.Heading("Cautions")
	for _, line := range design.Cautions() {
		d.Text("- %s", line)
	}
}

// drawBriefly says how good the order is in a sentence.
func drawBriefly(c *design.Plan, o *order.Drawn) string {
	if c.Drift.Model == design.DriftNone && !c.Order.CarryOver {
		return fmt.Sprintf("Drawn from seed %d; the plan guards against no drift.", o.Seed)
	}
	return fmt.Sprintf("Drawn from seed %d; drift costs %s of the precision that as many runs without it would have.", o.Seed, share(max(0, 1-o.Efficiency)))
}

// fewOrders says where the randomisation test can call nothing different, however the results come out; "" where it can.
func fewOrders(c *design.Plan, o *order.Drawn) string {
	p, known := question.SmallestP(o)
	if !known || p <= c.Analysis.Alpha {
		return ""
	}
	return fmt.Sprintf(" Few orders might have been drawn (%s): no p of the randomisation test can be below %s, so it cannot call anything different; more %s or replicates give it more.",
		orders(o.Orders), short(verdict.Number(p), 2), c.Block.Plural())
}

// takes says what the plan takes, with the time of the very order that was drawn.
func takes(s *sheet.Sheet) string {
	c, blocks := s.Campaign, len(s.Draw.Order.Blocks)
	text := fmt.Sprintf("%s: %s of %s each", words.Count(len(s.Runs), "run"), c.Block.Many(blocks), words.Count(c.RunsPerBlock(), "run"))
	if t := cost.BenchTime(c, s.Draw.Order.Blocks); t > 0 {
		text += ", about " + hours(t) + " at the bench" + allowed(t, c.Budget.Hours)
	}
	if lasts := cost.Of(c).Lasts; lasts > 0 {
		text += fmt.Sprintf("; the supply of one %s would last %s", c.Block.Name, words.Count(lasts, "run"))
	}
	return text + "."
}

// hours says a time in hours and minutes.
func hours(t time.Duration) string {
	t = t.Round(time.Minute)
	h, m := int(t.Hours()), int(t.Minutes())%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d"+noBreak+"min", m)
	case m == 0:
		return fmt.Sprintf("%d"+noBreak+"h", h)
	}
	return fmt.Sprintf("%d"+noBreak+"h"+noBreak+"%d"+noBreak+"min", h, m)
}

// orderTable shows the order, a line a block; none when blocks are long.
func orderTable(s *sheet.Sheet) Table {
	n := s.Campaign.RunsPerBlock()
	if n > widestBlock {
		return Table{}
	}
	c := s.Campaign
	t := Table{}
	place := func(name string) { t.Head = append(t.Head, name) }
	if c.Session != nil {
		place(c.Session.Name)
	}
	place(c.Block.Name)
	t.Align = strings.Repeat("r", len(t.Head))
	if c.Items != nil {
		place(c.Items.Name)
		t.Align += "l"
	}
	first := len(t.Head)
	for p := range n {
		place(strconv.Itoa(p + 1))
	}
	t.Align += strings.Repeat("r", n)
	for _, r := range s.Runs {
		for len(t.Rows) < r.Block {
			row := []string{strconv.Itoa(len(t.Rows) + 1)}
			if c.Session != nil {
				row = append([]string{strconv.Itoa(r.Session)}, row...)
			}
			if c.Items != nil {
				row = append(row, c.Items.Label(r.Item))
			}
			t.Rows = append(t.Rows, append(row, make([]string, n)...))
		}
		cell := strings.Join(r.Levels, " ")
		switch r.Role {
		case sheet.Warmup:
			cell = "(" + cell + ")"
		case sheet.Reference:
			cell = "[" + cell + "]"
		}
		t.Rows[r.Block-1][first+r.Position-1] = cell
	}
	return t
}

// roleKey says how runs that are not drawn are marked, "" when there are none.
func roleKey(p order.Spec) string {
	var parts []string
	if p.Warmup > 0 {
		parts = append(parts, "(…) is a warm-up run of the baseline, not analysed")
	}
	if len(p.Reference) > 0 {
		parts = append(parts, "[…] is a reference run of the baseline")
	}
	return strings.Join(parts, "; ")
}

// draw says how the order was drawn and how good it is.
func draw(c *design.Plan, o *order.Drawn) string {
	text := fmt.Sprintf("Drawn from seed %d. ", o.Seed)
	if c.Drift.Model == design.DriftNone && !c.Order.CarryOver {
		return text + fmt.Sprintf("Any order within a %s was allowed (%s); the plan guards against no drift.", c.Block.Name, orders(o.Orders))
	}
	kind := c.Drift.Model + " drift"
	if c.Drift.Model == design.DriftPosition {
		kind = "drift of any shape over position"
	} else if c.Drift.Own {
		kind += " of each " + c.Block.Name
	}
	kept := fmt.Sprintf("Kept: the best %s of random orders, %s, each equally likely.", share(o.Acceptance), orders(o.Orders))
	if o.Acceptance >= 1 {
		kept = fmt.Sprintf("Every order of its kind was allowed, %s, each equally likely.", orders(o.Orders))
	}
	terms := judgedAs(c, o)
	if terms != "" {
		terms = ", " + terms
	}
	text += fmt.Sprintf("Efficiency under %s: %s of the same runs without drift%s (1 is the most). %s", kind, short(verdict.Number(o.Efficiency), 4), terms, kept)
	if c.Order.CarryOver {
		text += neighbourCounts(c, o) + carryOverCost(c, o)
	}
	return text
}

// judgedAs says what the efficiency of an order takes for granted, "" where nothing but the model of the verdict.
func judgedAs(c *design.Plan, o *order.Drawn) string {
	var parts []string
	switch {
	case o.Plan.PlotNoise():
		parts = append(parts, "if whole plots vary as much as runs do")
	case o.Plan.WholePlots != nil:
		parts = append(parts, "if each run were set up for itself")
	}
	if o.Plan.Effects == nil && !c.Interactions && len(c.Factors) > 1 {
		parts = append(parts, "over comparisons of all combinations of levels")
	}
	return strings.Join(parts, ", ")
}

// neighbourCounts says how evenly treatments follow each other, and what reference runs give up.
func neighbourCounts(c *design.Plan, o *order.Drawn) string {
	least, most := o.NeighbourRange()
	times := fmt.Sprintf("%d to %d times", least, most)
	switch {
	case most == 1 && least == 1:
		times = "once"
	case least == most:
		times = words.Count(least, "time")
	}
	text := fmt.Sprintf(" Neighbours in a %s: each treatment follows each other %s.", c.Block.Name, times)
	if len(o.Plan.Reference) > 0 {
		text += " Positions come before neighbours here, so that each treatment stands beside reference runs as often as another: the baseline may run right beside a reference run of itself."
	}
	return text
}

// incomplete says how good blocks are that do not hold all treatments alike.
func incomplete(c *design.Plan, o *order.Drawn) string {
	e, most := verdict.Number(o.BlockEfficiency), verdict.Number(o.BlockBound)
	text := fmt.Sprintf("Efficiency of the %s: %s of as many runs in %s that hold every treatment alike; no arrangement can exceed %s", c.Block.Plural(), short(e, 4), c.Block.Plural(), short(most, 4))
	if o.Plan.WholePlots != nil {
		text = fmt.Sprintf("Efficiency of the whole plots in %s: %s of as many runs in %s that hold every treatment alike, each set up for itself without noise of its own, if whole plots vary as much as runs do; no arrangement of such whole plots can exceed %s",
			c.Block.Plural(), short(e, 4), c.Block.Plural(), short(most, 4))
	}
	if float64(most-e) < 1e-9*float64(most) {
		return text + ", so this one is as good as can be."
	}
	return text + "."
}

// strata says what each comparison of a plan with whole plots rests on.
func strata(c *design.Plan, o *order.Drawn) string {
	whole := o.Strata()[0]
	var hard []string
	for _, f := range c.Factors {
		if f.HardToChange {
			hard = append(hard, f.Name)
		}
	}
	each := strconv.Itoa(whole.Replicates)
	if p := o.Whole(); p.Runs > 0 && p.Blocks*p.PlotsPerBlock()%whole.Settings != 0 {
		each = "at least " + each
	}
	return fmt.Sprintf("Hard to change: %s. Its %d settings are compared between whole plots, of which each has %s, whatever the number of runs in one: %s for the noise between them. "+
		"What changes within a whole plot is compared between runs.",
		strings.Join(hard, " and "), whole.Settings, each, words.Degrees(strconv.Itoa(whole.DF)))
}

func share(a float64) string { return short(verdict.Number(100*a), 2) + " %" }

// orders says how many orders a set holds; of an extended campaign that is not counted.
func orders(n lot.Count) string {
	if n == (lot.Count{}) {
		return "the orders that its draws together allow"
	}
	return n.String() + " orders"
}

// SheetRows is the order as CSV, with the planned columns of the run sheet.
func SheetRows(s *sheet.Sheet) (head []string, rows [][]string) {
	head = []string{"run", "block", "position"}
	p := s.Draw.Order.Plan
	roles, plots := p.Warmup > 0 || len(p.Reference) > 0, p.WholePlots != nil
	if roles {
		head = append(head, "role")
	}
	if plots {
		head = append(head, "whole_plot")
	}
	c := s.Campaign
	if c.Session != nil {
		head = append(head, c.Session.Name)
	}
	if c.Items != nil {
		head = append(head, c.Items.Name)
	}
	if c.Specimens != nil {
		head = append(head, c.Specimens.Name)
	}
	for _, f := range s.Campaign.Factors {
		head = append(head, f.Name)
	}
	for _, r := range s.Runs {
		row := []string{strconv.Itoa(r.Run), strconv.Itoa(r.Block), strconv.Itoa(r.Position)}
		if roles {
			row = append(row, string(r.Role))
		}
		switch {
		case plots && r.WholePlot > 0:
			row = append(row, strconv.Itoa(r.WholePlot))
		case plots:
			row = append(row, "")
		}
		if r.Session > 0 {
			row = append(row, strconv.Itoa(r.Session))
		}
		if r.Item > 0 {
			row = append(row, c.Items.Label(r.Item))
		}
		if r.Specimen > 0 {
			row = append(row, strconv.Itoa(r.Specimen))
		}
		rows = append(rows, append(row, r.Levels...))
	}
	return head, rows
}
