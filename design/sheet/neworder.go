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
func NewOrder(c *design.Plan, seed uint64) (*order.Drawn, error) {
	d, err := order.Draw(OrderPlan(c), seed)
	if err == nil && c.FoldedApart() {
		d, err = order.FoldOver(d, foldPart(c), d.NextSeed())
	}
	return d, inWords(c, err)
}

// OrderPlan is what a plan asks of its order, in numbers. With main effects only, it is they
// that the order keeps apart from drift, where the kind of order allows for it. Where a fold-over
// has blocks of its own it is the plan of the others.
func OrderPlan(c *design.Plan) order.Spec {
	p := wholePlan(c)
	if !c.FoldedApart() {
		return p
	}
	t := len(c.Mirror())
	p.Blocks -= len(c.Order.Screen.FoldBlocks)
	all := places(p.Treatments)
	p.Treatments, p.Effects, p.WholePlots = t, p.Effects[:t:t], settingsOf(p.WholePlots, all[:t])
	return comparable(p)
}

// wholePlan is what a plan asks of all its blocks together; they hold a part of the treatments each
// where a fold-over has blocks of its own.
func wholePlan(c *design.Plan) order.Spec {
	p := order.Spec{
		Treatments: len(c.Treatments()),
		Blocks:     c.Block.Count,
		Replicates: c.Block.Replicates,
		Runs:       c.Block.Runs,
		Drift:      order.DriftModel(c.Drift.Model),
		Own:        c.Drift.Own,
		CarryOver:  c.Order.CarryOver,
		WholePlots: c.WholePlots(),
		Warmup:     c.Order.Warmup,
	}
	if c.Session != nil && c.Session.Blocks > 1 && p.Runs > 0 {
		p.Session = c.Session.Blocks
	}
	for _, at := range c.Order.Reference {
		p.Reference = append(p.Reference, at-1)
	}
	if p.Warmup > 0 || p.Reference != nil {
		p.Baseline = c.BaselineTreatment()
	}
	p.Effects = Effects(c)
	if c.FoldedApart() {
		p.Session = 0 // parts take turns in sessions
		return p
	}
	return comparable(p)
}

// comparable leaves out the model of effects where the kind of order does not allow for one.
func comparable(p order.Spec) order.Spec {
	if p.Drift == order.Position || p.CarryOver {
		p.Effects = nil
	}
	return p
}

// foldPart is the fold-over of a plan that gives it blocks of its own, but for its draw.
//
// Where the baseline is run at fixed places, drift is kept apart from the fold-over's own runs as if
// its baseline, the mirror image of the plan's, stood there: so its orders are judged as those of the
// other blocks are.
func foldPart(c *design.Plan) order.Fold {
	f := order.Fold{Treatments: c.Mirror(), Whole: wholePlan(c)}
	for _, b := range c.Order.Screen.FoldBlocks {
		f.At = append(f.At, b-1)
	}
	own := OrderPlan(c)
	own.Blocks = len(f.At)
	own.WholePlots = settingsOf(f.Whole.WholePlots, f.Treatments)
	own.Effects = nil
	for _, t := range f.Treatments {
		own.Effects = append(own.Effects, f.Whole.Effects[t])
	}
	f.Drawn.Plan = comparable(own)
	if f.Whole.Runs == 0 {
		f.Whole.Runs, f.Whole.Replicates = c.DrawnPerBlock(), 0
	}
	f.Whole.CarryOver = false
	return f
}

// settingsOf renumbers, from 0 as they come, the settings of some of the treatments; nil without
// whole plots.
func settingsOf(plots, treatments []int) []int {
	if plots == nil {
		return nil
	}
	number := map[int]int{}
	var own []int
	for _, t := range treatments {
		if _, known := number[plots[t]]; !known {
			number[plots[t]] = len(number)
		}
		own = append(own, number[plots[t]])
	}
	return own
}

// places returns 0, 1, …, n−1.
func places(n int) []int {
	x := make([]int, n)
	for i := range x {
		x[i] = i
	}
	return x
}

// Effects is the model of a plan's main effects, by treatment; nil when each treatment has a mean
// of its own.
func Effects(c *design.Plan) [][]float64 {
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
func inWords(c *design.Plan, err error) error {
	var impossible *order.ImpossibleError
	if !errors.As(err, &impossible) {
		return err
	}
	ours := []string{"blocks", c.Block.Plural(), "block", c.Block.Name}
	if c.Session != nil {
		ours = append(ours, "sessions", c.Session.Plural(), "session", c.Session.Name)
	}
	text := strings.NewReplacer(ours...).Replace(impossible.Reason)
	if near := nearest(c, impossible.Nearest); near != "" {
		text += "; the nearest plan that is possible has " + near
	}
	return errors.New(text)
}

// nearest says how a possible plan differs from that of c, "" if there is none.
func nearest(c *design.Plan, p *order.Spec) string {
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
