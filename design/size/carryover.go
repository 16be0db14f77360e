package size

import (
	"math"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// CarriedEfficiency is the share of the precision of differences that an order keeps with what runs take over from the run
// before in the model: 1 where it is not, NaN where some family cannot be compared with it.
func CarriedEfficiency(c *design.Plan, drawn *order.Drawn) float64 {
	if !c.Order.CarryOver || drawn == nil {
		return 1
	}
	d := question.Compared(sheet.Blank(c, drawn))
	m := linmod.Model{Blocks: append(d.Recovered, d.Blocks...), Covariates: d.Covariates, Factors: d.Treatments}
	y := make([]float64, len(d.Treatments[0].Code)) // what it keeps does not depend on it
	if cells, err := mixed.FitCells(m, d.Sample, y); err == nil {
		m, y = cells.Model, cells.Mean
	}
	with, err := linmod.Fit(m, y)
	if err != nil {
		return math.NaN()
	}
	m.Covariates = linmod.WithoutCarryOver(m.Covariates)
	without, err := linmod.Fit(m, y)
	if err != nil {
		return math.NaN()
	}
	return linmod.CarryOverEfficiency(without, with)
}
