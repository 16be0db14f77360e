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

// Reading is the column of a check, one row a run, whatever became of the run. It panics if
// the plan has no such check.
func (s *Sheet) Reading(name string) *decimal.Column {
	k := slices.IndexFunc(s.Campaign.Readings, func(c design.Reading) bool { return c.Name == name })
	if k < 0 {
		panic("sheet: no such check in the plan")
	}
	return s.column(func(r *Run) string { return r.Readings[k] })
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

// Sessions is the session of every run, as a factor named as the plan names its sessions, with levels
// "1", "2", …. ok is false where they are not a factor of their own: the plan has none, there is only
// one, or each holds a single block.
func (s *Sheet) Sessions() (f linmod.Factor, ok bool) {
	plan := s.Campaign.Session
	if plan == nil || plan.Blocks < 2 {
		return f, false
	}
	f = linmod.Factor{Name: plan.Name, Code: make([]int32, len(s.Runs))}
	for i, r := range s.Runs {
		for len(f.Levels) < r.Session {
			f.Levels = append(f.Levels, strconv.Itoa(len(f.Levels)+1))
		}
		f.Code[i] = int32(r.Session - 1)
	}
	return f, len(f.Levels) > 1
}

// Items is the item that every run is made on, as a factor named as the plan names them, with their
// labels as levels. ok is false where the plan has none, or each is used for one block only.
func (s *Sheet) Items() (f linmod.Factor, ok bool) {
	plan := s.Campaign.Items
	if plan == nil {
		return f, false
	}
	f = linmod.Factor{Name: plan.Name, Levels: slices.Clone(plan.Labels), Code: make([]int32, len(s.Runs))}
	blocks := 0
	for i, r := range s.Runs {
		f.Code[i] = int32(r.Item - 1)
		blocks = max(blocks, r.Block)
	}
	return f, blocks > len(plan.Labels)
}
