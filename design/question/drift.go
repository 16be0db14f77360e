package question

import (
	"fmt"
	"slices"
	"strconv"

	"fairrun/design"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// positionColumn names the position of a run in its block.
const PositionColumn = "position"

// addDrift puts the plan's drift into the model: over the positions within a
// block, with one course for all blocks or one for each.
func addDrift(d *verdict.Data, c *design.Plan, position []int) {
	drift, degree := c.Drift, 0
	switch drift.Model {
	case design.DriftLinear:
		degree = 1
	case design.DriftQuadratic:
		degree = 2
	case design.DriftCurve:
		addCurve(d, c, position)
	case design.DriftPosition:
		d.Blocks = append(d.Blocks, positions(position))
	}
	for k := 1; k <= degree; k++ {
		c := linmod.Covariate{Name: PositionColumn, Value: make([]float64, len(position))}
		if k > 1 {
			c.Name += "^" + strconv.Itoa(k)
		}
		for i, p := range position {
			c.Value[i] = 1
			for range k {
				c.Value[i] *= float64(p)
			}
		}
		if drift.Own {
			c.By = &slices.Concat(d.Recovered, d.Blocks)[0]
		}
		d.Covariates = append(d.Covariates, c)
	}
}

// addCurve puts a curve over position into the model, as one term.
func addCurve(d *verdict.Data, plan *design.Plan, position []int) {
	var terms []linmod.Covariate
	for i, p := range position {
		for k, v := range design.Curve(p, plan.Order.Warmup+1, plan.RunsPerBlock()) {
			if i == 0 {
				c := linmod.Covariate{Name: fmt.Sprintf("%s, term %d of 4", curveTerm, k+1), Term: curveTerm, Value: make([]float64, len(position))}
				if plan.Drift.Own {
					c.By = &slices.Concat(d.Recovered, d.Blocks)[0]
				}
				terms = append(terms, c)
			}
			terms[k].Value[i] = v
		}
	}
	d.Covariates = append(d.Covariates, terms...)
}

// curveTerm names a curve over position.
const curveTerm = PositionColumn + " (curve)"

// positions is the position of every run in its block, as a factor of those that
// occur.
func positions(position []int) linmod.Factor {
	occur := slices.Compact(slices.Sorted(slices.Values(position)))
	f := linmod.Factor{Name: PositionColumn, Code: make([]int32, len(position))}
	for _, p := range occur {
		f.Levels = append(f.Levels, strconv.Itoa(p))
	}
	for i, p := range position {
		k, _ := slices.BinarySearch(occur, p)
		f.Code[i] = int32(k)
	}
	return f
}
