package question

import (
	"strconv"

	"fairrun/design/sheet"
	"fairrun/stats/linmod"
)

// wholePlots is the whole plot of every run, as a factor.
func wholePlots(s *sheet.Sheet) linmod.Factor {
	f := linmod.Factor{Name: WholePlot, Code: make([]int32, len(s.Runs))}
	for i, r := range s.Runs {
		for len(f.Levels) < r.WholePlot {
			f.Levels = append(f.Levels, strconv.Itoa(len(f.Levels)+1))
		}
		f.Code[i] = int32(r.WholePlot - 1)
	}
	return f
}

// WholePlot is what the whole plots are called in the model.
const WholePlot = "whole plot"
