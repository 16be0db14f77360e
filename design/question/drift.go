package question

import (
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
func addDrift(d *verdict.Data, drift design.Drift, position []int) {
	degree := 0
	switch drift.Model {
	case design.DriftLinear:
		degree = 1
	case design.DriftQuadratic:
		degree = 2
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
