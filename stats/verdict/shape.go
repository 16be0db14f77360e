package verdict

import (
	"slices"

	"fairrun/stats/linmod"
)

// What is wrong with the shape of data or request when [Analyse] panics.
const (
	panicLength     = "verdict: columns of unequal length"
	panicCode       = "verdict: code outside the levels of its factor"
	panicValues     = "verdict: response without values"
	panicStatus     = "verdict: unknown status of a run"
	panicTreatments = "verdict: treatment outside those of the draw"
	panicOrders     = "verdict: draw without a list of orders or a sampler"
	panicChosen     = "verdict: chosen combination outside the levels of its factors"
)

// checkShape panics unless every column has the same number of rows and every code is a level.
func (d *Data) checkShape() {
	n := len(d.Treatments[0].Code)
	must(d.Status == nil || len(d.Status) == n, panicLength)
	must(d.Order == nil || len(d.Order) == n, panicLength)
	for _, s := range d.Status {
		must(s <= Void, panicStatus)
	}
	for _, f := range slices.Concat(d.Treatments, d.Blocks, d.random(), d.Parts) {
		checkFactor(&f, n)
	}
	must(d.Before == nil || len(d.Before) == len(d.Treatments), panicLength)
	for i := range d.Before {
		checkFactor(&d.Before[i], n)
		must(len(d.Before[i].Levels) == len(d.Treatments[i].Levels), panicCode)
	}
	for _, c := range d.covariates() {
		must(len(c.Value) == n, panicLength)
		if c.By != nil {
			checkFactor(c.By, n)
		}
	}
	for _, r := range d.Responses {
		must(r.Values != nil, panicValues)
		must(r.Values.Len() == n, panicLength)
	}
	if d.Draw != nil {
		d.Draw.checkShape(n)
	}
}

func (d *Draw) checkShape(rows int) {
	must(len(d.Drawn) == rows && (d.Plots == nil || len(d.Plots) == rows), panicLength)
	for _, t := range d.Drawn {
		must(t >= 0 && int(t) < d.Treatments, panicTreatments)
	}
	must(d.All != nil || d.Sampler != nil && d.Orders > 0, panicOrders)
}

func checkFactor(f *linmod.Factor, rows int) {
	must(len(f.Code) == rows, panicLength)
	for _, c := range f.Code {
		must(c >= -1 && int(c) < len(f.Levels), panicCode)
	}
}

// checkShape panics unless every chosen combination has a level of each factor.
func (q *Request) checkShape(d *Data) {
	for _, c := range q.Chosen {
		must(len(c) == len(d.Treatments), panicChosen)
		for i, level := range c {
			must(level >= 0 && level < len(d.Treatments[i].Levels), panicChosen)
		}
	}
}

func must(sound bool, text string) {
	if !sound {
		panic(text)
	}
}
