package analysis

import (
	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// SheetSchema names the JSON form of [SheetSummary].
const SheetSchema = "fairrun.sheet/2"

// SheetSummary is what a drawn sheet costs, how good its order is, and the order.
type SheetSummary struct {
	Schema   string           `json:"schema"`
	Campaign verdict.Campaign `json:"campaign"`
	Runs     int              `json:"runs"`
	Blocks   int              `json:"blocks"`
	Hours    verdict.Number   `json:"hours"`    // at the bench; null without a budget
	Sessions []SessionSummary `json:"sessions"` // none where the plan has none

	Seed       uint64       `json:"seed"`
	Drift      design.Drift `json:"drift"`
	Efficiency float64      `json:"efficiency"` // under drift
	Acceptance float64      `json:"acceptance"` // share of all orders that were allowed
	Orders                  // how many those are

	SmallestP verdict.Number `json:"smallest_p"` // that the randomisation test of all treatments can give; null where the orders are too many to matter

	BlockEfficiency float64 `json:"block_efficiency"` // 1 for complete blocks
	BlockBound      float64 `json:"block_bound"`      // that no arrangement can exceed

	CarryOverEfficiency verdict.Number `json:"carry_over_efficiency"` // of differences, with carry-over in the model over without; null without

	Responses   []size.Sensitivity `json:"responses"` // those with a margin and a noise
	Order       []OrderedRun       `json:"order"`
	Explanation *Explanation       `json:"explanation,omitempty"` // with --explain
}

// SessionSummary is what a session holds.
type SessionSummary struct {
	Session int            `json:"session"` // its number
	Blocks  int            `json:"blocks"`
	Runs    int            `json:"runs"`
	Hours   verdict.Number `json:"hours"` // null without a budget
}

// OrderedRun is one run of the order.
type OrderedRun struct {
	Run       int        `json:"run"`
	Block     int        `json:"block"`
	Position  int        `json:"position"`
	Role      sheet.Role `json:"role,omitempty"` // left out for runs that are drawn
	WholePlot int        `json:"whole_plot,omitempty"`
	Session   int        `json:"session,omitempty"`
	Item      string     `json:"item,omitempty"` // what is written on it
	Specimen  int        `json:"specimen,omitempty"`
	Levels    []string   `json:"levels"` // of each factor
}

// Summarise is the summary of a sheet, with what its order finds ([size.Sensitivities]) and, where it is asked
// for, how good it is in detail ([Explain]); nil leaves either out.
func Summarise(s *sheet.Sheet, finds []size.Sensitivity, e *Explanation) *SheetSummary {
	c, o := s.Campaign, s.Draw.Order
	v := &SheetSummary{Schema: SheetSchema, Campaign: question.Campaign(c), Runs: len(s.Runs), Blocks: len(o.Blocks),
		Hours: verdict.Unknown, Seed: o.Seed, Drift: c.Drift, Efficiency: o.Efficiency, Acceptance: o.Acceptance, Orders: countOrders(o.Orders),
		BlockEfficiency: o.BlockEfficiency, BlockBound: o.BlockBound, Sessions: Sessions(s), Responses: append([]size.Sensitivity{}, finds...), Explanation: e}
	v.SmallestP = verdict.Unknown
	if p, known := question.SmallestP(&o); known {
		v.SmallestP = verdict.Number(p)
	}
	if v.CarryOverEfficiency = verdict.Unknown; c.Order.CarryOver {
		v.CarryOverEfficiency = verdict.Number(size.CarriedEfficiency(c, &o))
	}
	if t := cost.BenchTime(c, o.Blocks); t > 0 {
		v.Hours = verdict.Number(t.Hours())
	}
	for _, r := range s.Runs {
		v.Order = append(v.Order, OrderedRun{r.Run, r.Block, r.Position, r.Role, r.WholePlot, r.Session, c.Items.Label(r.Item), r.Specimen, r.Levels})
	}
	return v
}

// Sessions are those of a drawn sheet, none where the plan has none.
func Sessions(s *sheet.Sheet) []SessionSummary {
	c, blocks := s.Campaign, s.Draw.Order.Blocks
	if c.Session == nil {
		return []SessionSummary{}
	}
	all := make([]SessionSummary, c.Session.Count(len(blocks)))
	for b, block := range blocks {
		v := &all[c.Session.Of(b+1)-1]
		v.Session, v.Hours = c.Session.Of(b+1), verdict.Unknown
		v.Blocks++
		v.Runs += len(block)
	}
	for i, t := range cost.SessionTimes(c, blocks) {
		all[i].Hours = verdict.Number(t.Hours())
	}
	return all
}

// ExtensionSchema names the JSON form of [ExtensionSummary].
const ExtensionSchema = "fairrun.extension/2"

// ExtensionSummary is what was added to a campaign.
type ExtensionSummary struct {
	Schema           string           `json:"schema"`
	Campaign         verdict.Campaign `json:"campaign"`
	AddedBlocks      int              `json:"added_blocks"`
	AddedRuns        int              `json:"added_runs"`
	FoldOver         string           `json:"fold_over"` // "all" or a factor where the blocks hold a screen's fold-over, otherwise ""
	EfficiencyBefore float64          `json:"efficiency_before"`
	Sheet            *SheetSummary    `json:"sheet"` // as it is now
}

// SummariseExtension is the summary of an extension, with what the longer order finds.
func SummariseExtension(before, after *sheet.Sheet, finds []size.Sensitivity) *ExtensionSummary {
	last := after.Draw.Draws[len(after.Draw.Draws)-1]
	return &ExtensionSummary{
		Schema: ExtensionSchema, Campaign: question.Campaign(after.Campaign), AddedBlocks: len(after.Draw.Order.Blocks) - len(before.Draw.Order.Blocks),
		AddedRuns: len(after.Runs) - len(before.Runs), FoldOver: last.FoldOver, EfficiencyBefore: before.Draw.Order.Efficiency,
		Sheet: Summarise(after, finds, nil),
	}
}
