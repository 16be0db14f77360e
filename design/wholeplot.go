package design

import (
	"strings"
)

// HardFactors returns the names of the factors that are hard to change.
func (c *Plan) HardFactors() []string {
	var names []string
	for _, f := range c.Factors {
		if f.HardToChange {
			names = append(names, f.Name)
		}
	}
	return names
}

// WholePlots returns, for each treatment, the number from 0 of its setting of the factors that are
// hard to change; nil when every run can be set up again. Runs of one setting stay together within a
// block: they are one whole plot. Where each block runs each setting once there is nothing to keep
// together, and whole plots are single runs, that is none.
func (c *Plan) WholePlots() []int {
	hard := c.HardFactors()
	if hard == nil {
		return nil
	}
	number := map[string]int{}
	plots := make([]int, c.CountTreatments())
	perBlock, settings := c.TreatmentsPerBlock(), 0 // settings in a block; a mirror image has as many
	for i, t := range c.Treatments() {
		var key []string
		for j, f := range c.Factors {
			if f.HardToChange {
				key = append(key, t.Levels[j])
			}
		}
		k := strings.Join(key, "\x00")
		if _, known := number[k]; !known {
			number[k] = len(number)
		}
		plots[i] = number[k]
		if i < perBlock {
			settings = len(number)
		}
	}
	if settings == perBlock && c.Block.Replicates <= 1 {
		return nil
	}
	return plots
}
