package linmod

import (
	"math"
	"slices"
)

// CarryOver holds first-order residual effects: what the level of a factor in the run before leaves
// over for a run, beside the effect of its own level (Williams 1949, Australian Journal of Scientific
// Research A 2: 149-168). Those of a factor add to zero over the levels that some run came after. A
// run with none before it takes over nothing.
type CarryOver struct {
	Covariates []Covariate // one term of a model, of the name CarryOverTerm
	level      [][]int     // of each factor: levels that runs came after
	first      []int       // of each factor: its first covariate
}

// CarryOverTerm is the name of all residual effects together.
const CarryOverTerm = "carry-over"

// NewCarryOver makes the columns for the level of each factor in the run before: see Before. Rows
// that do not count need no value of their own.
func NewCarryOver(before []Factor, counts func(row int) bool) *CarryOver {
	c := &CarryOver{}
	for _, f := range before {
		seen := make([]bool, len(f.Levels))
		for row, code := range f.Code {
			if code >= 0 && counts(row) {
				seen[code] = true
			}
		}
		var levels []int
		for i, s := range seen {
			if s {
				levels = append(levels, i)
			}
		}
		c.level, c.first = append(c.level, levels), append(c.first, len(c.Covariates))
		if len(levels) == 0 {
			continue
		}
		last := levels[len(levels)-1]
		for _, level := range levels[:len(levels)-1] {
			value := make([]float64, len(f.Code))
			for row, code := range f.Code {
				switch int(code) {
				case level:
					value[row] = 1
				case last:
					value[row] = -1
				}
			}
			c.Covariates = append(c.Covariates, Covariate{Name: "after " + f.Name + " " + f.Levels[level], Term: CarryOverTerm, Value: value})
		}
	}
	return c
}

// After returns the values of the covariates in a run after level i of factor k, all else
// averaged over; nil if no run came after it.
func (c *CarryOver) After(k, i int) []float64 {
	levels := c.level[k]
	at := slices.Index(levels, i)
	if at < 0 {
		return nil
	}
	x := make([]float64, len(c.Covariates))
	own := x[c.first[k] : c.first[k]+len(levels)-1]
	if at < len(own) {
		own[at] = 1
		return x
	}
	for j := range own {
		own[j] = -1
	}
	return x
}

// Before returns the level of a factor in the run done before, -1 in the first run of a block. When is
// the time of each row; nil: rows come as they were done. Block nil: all rows are one block. Rows without a
// block are passed over.
func Before(f Factor, block *Factor, when []float64) Factor {
	rows := make([]int, 0, len(f.Code))
	for row := range f.Code {
		if block == nil || block.Code[row] >= 0 {
			rows = append(rows, row)
		}
	}
	chronological(rows, when)
	blocks := 1
	if block != nil {
		blocks = len(block.Levels)
	}
	last := make([]int32, blocks)
	for b := range last {
		last[b] = -1
	}
	before := Factor{Name: f.Name, Levels: f.Levels, Code: make([]int32, len(f.Code))}
	for row := range before.Code {
		before.Code[row] = -1
	}
	for _, row := range rows {
		b := int32(0)
		if block != nil {
			b = block.Code[row]
		}
		before.Code[row] = last[b]
		last[b] = f.Code[row]
	}
	return before
}

// WithoutCarryOver are the covariates that are no residual effects.
func WithoutCarryOver(covariates []Covariate) []Covariate {
	return slices.DeleteFunc(slices.Clone(covariates), func(c Covariate) bool { return c.Term == CarryOverTerm })
}

// CarryOverEfficiency is the mean variance of the differences between treatments in a fit without residual effects over that
// in the same with them, the noise alike: between levels of each factor or, with interactions, between all combinations. It is NaN
// where none can be estimated by both.
func CarryOverEfficiency(without, with *Result) float64 {
	m := &with.design.model
	sets := make([][]int, 0, len(m.Factors))
	for k := range m.Factors {
		sets = append(sets, []int{k})
	}
	if m.Order > 1 {
		sets = [][]int{slices.Concat(sets...)}
	}
	var least, most float64
	for _, set := range sets {
		a, err := without.Means(set...)
		if err != nil {
			return math.NaN()
		}
		b, err := with.Means(set...)
		if err != nil {
			return math.NaN()
		}
		for i := range a.N {
			for j := range i {
				row := make([]float64, len(a.N))
				row[i], row[j] = 1, -1
				x, z := a.Contrasts([][]float64{row}), b.Contrasts([][]float64{row})
				if x.Estimable[0] && z.Estimable[0] {
					least, most = least+x.Cov.At(0, 0), most+z.Cov.At(0, 0)
				}
			}
		}
	}
	return least / most
}

// chronological puts rows into the order in which they were done; when is the time of each row of the data, nil where rows come as they were done.
func chronological(rows []int, when []float64) {
	if when == nil {
		return
	}
	slices.SortStableFunc(rows, func(a, b int) int {
		switch {
		case when[a] < when[b]:
			return -1
		case when[a] > when[b]:
			return 1
		}
		return 0
	})
}

// Chronological lists the used rows in the order in which they were done, see [Before].
func (r *Result) Chronological(when []float64) []int {
	rows := make([]int, 0, r.N)
	for i, used := range r.Used {
		if used {
			rows = append(rows, i)
		}
	}
	chronological(rows, when)
	return rows
}
