package rehearse

import (
	"slices"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/judge"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// columns are those of the verdict's model of the runs in hand, a row for each slot: the very ones that it makes of
// the sheet.
func (w *worker) columns(tr *trial) verdict.Data {
	drawn := *w.drawn
	drawn.Blocks = w.blocks
	if w.plot == nil {
		drawn.Plan.WholePlots = nil // random order keeps none together
		if drawn.Fold != nil {
			fold := *drawn.Fold
			fold.Whole.WholePlots = nil
			drawn.Fold = &fold
		}
	}
	s := sheet.Blank(tr.plan, &drawn)
	position := make([]int, len(s.Runs))
	for i := range s.Runs {
		position[i] = s.Runs[i].Position
	}
	d := question.Columns(s, position)
	for _, k := range tr.covariates {
		d.Noted = append(d.Noted, linmod.Covariate{Name: w.plan.Readings[k].Name, Value: w.noted[k]})
	}
	return d
}

// general is the verdict's model of the runs in hand. Each treatment counts as a level of its own where the plan has
// interactions.
func (w *worker) general(tr *trial) *judge.General {
	d := w.columns(tr)
	fixed := linmod.Model{Blocks: d.Blocks, Covariates: slices.Concat(d.Covariates, d.Noted), Order: 1}
	var before []linmod.Factor
	var average []judge.Factor
	for _, own := range w.factors {
		if own.Average {
			average = append(average, own.Factor)
			continue
		}
		c := linmod.Factor{Name: own.factors.Term(), Levels: own.labels, Code: make([]int32, w.slots())}
		for s, t := range w.treatment {
			c.Code[s] = int32(own.Code[t])
		}
		fixed.Factors = append(fixed.Factors, c)
		if tr.plan.Order.CarryOver {
			c.Code = slices.Clone(c.Code)
			for s := range c.Code {
				if c.Code[s] = -1; s%w.length > 0 {
					c.Code[s] = int32(own.Code[w.treatment[s-1]])
				}
			}
			before = append(before, c)
		}
	}
	fixed.Covariates = append(fixed.Covariates, linmod.NewCarryOver(before, func(slot int) bool { return w.good[slot] }).Covariates...)
	return judge.NewGeneral(fixed, average, d.Sample, slices.Concat(d.Recovered, d.Random), d.Interplay, w.good)
}

// beyond reports whether a fit by least squares, with blocks and the plan's drift, is not the verdict's model.
func beyond(d verdict.Data, drift design.Drift) bool {
	blocks := 1
	if drift.Model == design.DriftPosition {
		blocks++
	}
	return len(d.Recovered)+len(d.Random)+len(d.Interplay) > 0 || len(d.Blocks) != blocks
}
