package sheet

import (
	"fmt"
	"slices"
	"strconv"

	"fairrun/design"
	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// Response is the column of a response, one row a run: its value where the run is
// ok, missing elsewhere. It panics if the plan has no such response.
func (s *Sheet) Response(name string) *decimal.Column {
	k := slices.IndexFunc(s.Campaign.Responses, func(r design.Response) bool { return r.Name == name })
	if k < 0 {
		panic("sheet: no such response in the plan")
	}
	return s.column(func(r *Run) string {
		if r.Status != OK {
			return ""
		}
		return r.Values[k]
	})
}

// Check is the column of a check, one row a run, whatever became of the run. It panics if
// the plan has no such check.
func (s *Sheet) Check(name string) *decimal.Column {
	k := slices.IndexFunc(s.Campaign.Checks, func(c design.Check) bool { return c.Name == name })
	if k < 0 {
		panic("sheet: no such check in the plan")
	}
	return s.column(func(r *Run) string { return r.Checks[k] })
}

// column gathers a number of each run.
func (s *Sheet) column(point func(r *Run) string) *decimal.Column {
	c := &decimal.Column{}
	for i := range s.Runs {
		text := point(&s.Runs[i])
		if text == "" {
			c.AppendMissing()
			continue
		}
		if err := c.Append([]byte(text)); err != nil {
			panic(fmt.Sprintf("sheet: a number that was read is none: %v", err))
		}
	}
	return c
}

// Factors is the levels of every run, one factor of the plan after the other, each
// with the plan's levels in the plan's order.
func (s *Sheet) Factors() []linmod.Factor {
	factors := make([]linmod.Factor, len(s.Campaign.Factors))
	for k, f := range s.Campaign.Factors {
		factors[k] = linmod.Factor{Name: f.Name, Levels: slices.Clone(f.Levels), Code: make([]int32, len(s.Runs))}
		for i, r := range s.Runs {
			factors[k].Code[i] = int32(slices.Index(f.Levels, r.Levels[k]))
		}
	}
	return factors
}

// Blocks is the block of every run, as a factor named as the plan names its blocks,
// with levels "1", "2", ….
func (s *Sheet) Blocks() linmod.Factor {
	f := linmod.Factor{Name: s.Campaign.Block.Name, Code: make([]int32, len(s.Runs))}
	for i, r := range s.Runs {
		for len(f.Levels) < r.Block {
			f.Levels = append(f.Levels, strconv.Itoa(len(f.Levels)+1))
		}
		f.Code[i] = int32(r.Block - 1)
	}
	return f
}
