package render

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// widestBlock is the most runs of a block that are shown on one line.
const widestBlock = 16

// Sheet says what a drawn sheet costs and how good its order is.
func Sheet(s *sheet.Sheet) *Document {
	c := s.Campaign
	d := &Document{}
	d.Heading("%s", c.Title)
	d.Text("%s", cost(c))
	d.Table(orderTable(s))
	first := s.Draw.Order
	d.Text("%s", draw(c, &first))
	for _, line := range design.Cautions() {
		d.Text("- %s", line)
	}
	return d
}

// cost says what the plan takes.
func cost(c *design.Campaign) string {
	k := c.Cost()
	text := fmt.Sprintf("%s: %s of %s each", many(k.Runs, "run"), many(k.Blocks, c.Block.Name), many(c.RunsPerBlock(), "run"))
	if k.Time > 0 {
		text += ", about " + hours(k.Time) + " at the bench"
	}
	if k.Lasts > 0 {
		text += fmt.Sprintf("; the supply of one %s would last %s", c.Block.Name, many(k.Lasts, "run"))
	}
	return text + "."
}

// many says "1 run" or "3 runs".
func many(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// hours says a time in hours and minutes.
func hours(t time.Duration) string {
	t = t.Round(time.Minute)
	h, m := int(t.Hours()), int(t.Minutes())%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}

// orderTable shows the order, a line a block; none when blocks are long.
func orderTable(s *sheet.Sheet) Table {
	n := s.Campaign.RunsPerBlock()
	if n > widestBlock {
		return Table{}
	}
	t := Table{Head: []string{s.Campaign.Block.Name}, Align: "r" + strings.Repeat("r", n)}
	for p := range n {
		t.Head = append(t.Head, strconv.Itoa(p+1))
	}
	for _, r := range s.Runs {
		for len(t.Rows) < r.Block {
			t.Rows = append(t.Rows, append([]string{strconv.Itoa(len(t.Rows) + 1)}, make([]string, n)...))
		}
		t.Rows[r.Block-1][r.Position] = strings.Join(r.Levels, " ")
	}
	return t
}

// draw says how the order was drawn and how good it is.
func draw(c *design.Campaign, o *order.Drawn) string {
	text := fmt.Sprintf("Drawn from seed %d. ", o.Seed)
	if c.Drift.Model == design.DriftNone {
		return text + fmt.Sprintf("Any order within a %s was allowed (%s); the plan guards against no drift.", c.Block.Name, orders(o.Orders))
	}
	kind := c.Drift.Model + " drift"
	if !c.Drift.Shared {
		kind += " of each " + c.Block.Name
	}
	return text + fmt.Sprintf("Efficiency under %s: %s of the same runs without drift (1 is the most). Kept: the best %s of random orders, %s, each equally likely.",
		kind, short(verdict.Number(o.Efficiency), 4), share(o.Acceptance), orders(o.Orders))
}

func share(a float64) string { return short(verdict.Number(100*a), 2) + " %" }

func orders(n order.Count) string { return n.String() + " orders" }

// Explain adds how precise each comparison is, and how each treatment lies in
// the order.
func Explain(d *Document, s *sheet.Sheet) error {
	c := s.Campaign
	o := s.Draw.Order
	q, err := order.Assess(o.Plan, o.Blocks)
	if err != nil {
		return err
	}
	names := c.Treatments()
	compared := Table{Align: "lrrr", Head: []string{"comparison", "variance", "without drift", "efficiency"}}
	for j := range names {
		for i := range j {
			v, free := q.Variance[j][i], q.VarianceWithoutDrift[j][i]
			compared.Rows = append(compared.Rows, []string{names[j].String() + " against " + names[i].String(),
				short(verdict.Number(v), 4), short(verdict.Number(free), 4), short(verdict.Number(free/v), 4)})
		}
	}
	d.Text("Variance of each comparison, as a multiple of the variance of one run:")
	d.Table(compared)
	place := Table{Align: "lr", Head: []string{"treatment", "correlation with order"}}
	if q.QuadraticCorrelation != nil {
		place.Align += "r"
		place.Head = append(place.Head, "with its curve")
	}
	for i, t := range names {
		row := []string{t.String(), digits(verdict.Number(q.LinearCorrelation[i]), 3)}
		if q.QuadraticCorrelation != nil {
			row = append(row, digits(verdict.Number(q.QuadraticCorrelation[i]), 3))
		}
		place.Rows = append(place.Rows, row)
	}
	d.Text("How each treatment lies within the blocks (0 is free of drift, 1 or -1 cannot be told from it):")
	d.Table(place)
	d.Text("%s are left to judge noise by.", many(q.DF, "degree")+" of freedom")
	return nil
}

// SheetSummary is what a drawn sheet costs and how good its order is, as JSON.
type SheetSummary struct {
	Schema     string         `json:"schema"`
	Title      string         `json:"title"`
	Scope      string         `json:"scope"`
	Runs       int            `json:"runs"`
	Blocks     int            `json:"blocks"`
	Hours      verdict.Number `json:"hours"` // null without a budget
	Seed       uint64         `json:"seed"`
	Drift      string         `json:"drift"`
	Efficiency float64        `json:"efficiency"`
	Acceptance float64        `json:"acceptance"`
	Orders     order.Count    `json:"orders"`
	Order      []OrderedRun   `json:"order"`
}

// OrderedRun is one run of the order.
type OrderedRun struct {
	Run      int      `json:"run"`
	Block    int      `json:"block"`
	Position int      `json:"position"`
	Levels   []string `json:"levels"`
}

// SheetValue is the sheet as JSON, schema "fairrun.sheet/1".
func SheetValue(s *sheet.Sheet) SheetSummary {
	c, o := s.Campaign, s.Draw.Order
	v := SheetSummary{Schema: "fairrun.sheet/1", Title: c.Title, Scope: c.Scope, Runs: len(s.Runs), Blocks: c.Block.Count,
		Hours: verdict.Unknown, Seed: o.Seed, Drift: c.Drift.Model, Efficiency: o.Efficiency, Acceptance: o.Acceptance, Orders: o.Orders}
	if t := c.Cost().Time; t > 0 {
		v.Hours = verdict.Number(t.Hours())
	}
	for _, r := range s.Runs {
		v.Order = append(v.Order, OrderedRun{r.Run, r.Block, r.Position, r.Levels})
	}
	return v
}

// SheetRows is the order as CSV.
func SheetRows(s *sheet.Sheet) (head []string, rows [][]string) {
	head = []string{"run", "block", "position"}
	for _, f := range s.Campaign.Factors {
		head = append(head, f.Name)
	}
	for _, r := range s.Runs {
		rows = append(rows, append([]string{strconv.Itoa(r.Run), strconv.Itoa(r.Block), strconv.Itoa(r.Position)}, r.Levels...))
	}
	return head, rows
}
