package sheet

import (
	"errors"
	"fmt"
	"strings"

	"fairrun/design"
	"fairrun/design/order"
)

// NewOrder draws an order for a plan from a seed. The same plan and seed give the
// same order. The error of a plan that no order can serve says so in the plan's words,
// with the nearest plan that is possible.
func NewOrder(c *design.Campaign, seed uint64) (*order.Drawn, error) {
	d, err := order.Draw(OrderPlan(c), seed)
	return d, inWords(c, err)
}

// OrderPlan is what a plan asks of its order, in numbers. With main effects only, it is they
// that the order keeps apart from drift, where the kind of order allows for it.
func OrderPlan(c *design.Campaign) order.Plan {
	p := order.Plan{
		Treatments: len(c.Treatments()),
		Blocks:     c.Block.Count,
		Replicates: c.Block.Replicates,
		Runs:       c.Block.Runs,
		Drift:      order.DriftModel(c.Drift.Model),
		Shared:     c.Drift.Shared,
		CarryOver:  c.Order.CarryOver,
		WholePlots: c.WholePlots(),
		Warmup:     c.Order.Warmup,
	}
	for _, at := range c.Order.Reference {
		p.Reference = append(p.Reference, at-1)
	}
	if p.Warmup > 0 || p.Reference != nil {
		p.Baseline = c.BaselineTreatment()
	}
	if p.Drift != order.Position && !p.CarryOver {
		p.Effects = Effects(c)
	}
	return p
}

// Effects is the model of a plan's main effects, by treatment; nil when each treatment has a mean
// of its own.
func Effects(c *design.Campaign) [][]float64 {
	if c.Interactions || len(c.Factors) == 1 {
		return nil
	}
	level := make([]map[string]int, len(c.Factors))
	for k, f := range c.Factors {
		level[k] = map[string]int{}
		for i, name := range f.Levels {
			level[k][name] = i
		}
	}
	var levels [][]int
	for _, t := range c.Treatments() {
		row := make([]int, len(t.Levels))
		for k, name := range t.Levels {
			row[k] = level[k][name]
		}
		levels = append(levels, row)
	}
	return order.MainEffects(levels)
}

// inWords puts an impossible plan into the words of the person's plan.
func inWords(c *design.Campaign, err error) error {
	var impossible *order.ImpossibleError
	if !errors.As(err, &impossible) {
		return err
	}
	blocks := strings.NewReplacer("blocks", c.Block.Plural(), "block", c.Block.Name)
	text := blocks.Replace(impossible.Reason)
	if near := nearest(c, impossible.Nearest); near != "" {
		text += "; the nearest plan that is possible has " + near
	}
	return errors.New(text)
}

// nearest says how a possible plan differs from that of c, "" if there is none.
func nearest(c *design.Campaign, p *order.Plan) string {
	if p == nil {
		return ""
	}
	var parts []string
	differs := func(was, is int, key string) {
		if was != is && is > 0 {
			parts = append(parts, fmt.Sprintf("%s = %d", key, is))
		}
	}
	differs(c.Block.Count, p.Blocks, "count")
	differs(c.Block.Replicates, p.Replicates, "replicates")
	differs(c.Block.Runs, p.Runs, "runs")
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, " and ")
}
