package verdict

import (
	"math"
	"strconv"
	"strings"
)

// choice is what the comparisons of a family say of the best level, read off the intervals that the table shows, so that
// list and words cannot part.
type choice struct {
	levels   []string // that may be the best, named with their factor where there are several families
	smallest *string  // for a single numeric factor the smallest level shown to be within the margin of the best
}

// choose reads the choice off the comparisons of a family.
//
// All pairs: a level is out when some other is shown to be better, and as good as the best when no other is better by more
// than the margin. The same with the best, where one comparison speaks for all others. Against a baseline two other levels
// are compared through it: θᵢ−θⱼ lies between Lowᵢ−Highⱼ and Highᵢ−Lowⱼ whenever both intervals hold.
func choose(f family, c compared, q *Request, y yardstick) (out choice) {
	if y.better == "" || !y.noise || len(f.live) < 2 {
		return choice{}
	}
	stands := pairwise
	switch q.Compare {
	case Best:
		stands = withRivals
	case Baseline:
		stands = throughBaseline
	}
	behind, asGood := stands(f, c, y)
	least := math.Inf(1)
	for _, i := range f.live {
		if !behind[i] {
			name := f.labels[i]
			if !f.alone {
				name = f.of.Term() + " " + name
			}
			out.levels = append(out.levels, name)
		}
		if f.alone && f.value != nil && y.margin != nil && asGood[i] && f.value[i] < least {
			least, out.smallest = f.value[i], &f.labels[i]
		}
	}
	return out
}

// pairwise says of each mean of a family whether some other is shown to be better, and whether none is better by more than
// the margin.
func pairwise(f family, c compared, y yardstick) (behind, asGood []bool) {
	behind, asGood = make([]bool, len(f.labels)), make([]bool, len(f.labels))
	known := make([]int, len(f.labels))
	worse := make([]bool, len(f.labels)) // may be, by more than the margin
	for _, l := range c.links {
		s := y.larger(c.list[l.comparison])
		known[l.i]++
		known[l.j]++
		behind[l.i] = behind[l.i] || s.high < 0
		behind[l.j] = behind[l.j] || s.low > 0
		worse[l.i] = worse[l.i] || !(s.marginLow >= -s.margin)
		worse[l.j] = worse[l.j] || !(s.marginHigh <= s.margin)
	}
	for _, i := range f.live {
		asGood[i] = known[i] == len(f.live)-1 && !worse[i]
	}
	return behind, asGood
}

// withRivals is [pairwise] for the comparisons with the best.
func withRivals(f family, c compared, y yardstick) (behind, asGood []bool) {
	behind, asGood = make([]bool, len(f.labels)), make([]bool, len(f.labels))
	for _, l := range c.links {
		s := y.larger(c.list[l.comparison])
		behind[l.i], asGood[l.i] = s.high < 0, s.marginLow >= -s.margin
	}
	return behind, asGood
}

// throughBaseline is [pairwise] for the comparisons with a baseline.
func throughBaseline(f family, c compared, y yardstick) (behind, asGood []bool) {
	n := len(f.labels)
	behind, asGood = make([]bool, n), make([]bool, n)
	from := make([]side, n)
	for i := range from {
		inf := math.Inf(1)
		from[i] = side{low: -inf, high: inf, marginLow: -inf, marginHigh: inf}
	}
	if f.base < 0 {
		return behind, asGood
	}
	from[f.base] = side{}
	for _, l := range c.links {
		from[l.i] = y.larger(c.list[l.comparison])
	}
	for _, i := range f.live {
		asGood[i] = true
		for _, j := range f.live {
			if j != i {
				behind[i] = behind[i] || from[j].low > from[i].high
				asGood[i] = asGood[i] && from[i].marginLow-from[j].marginHigh >= -max(from[i].margin, from[j].margin)
			}
		}
	}
	return behind, asGood
}

// side is an interval turned so that larger is better, on the scale of the analysis and in the terms of the margin.
type side struct{ low, high, marginLow, marginHigh, margin float64 }

func (t terms) larger(c Comparison) side {
	s := side{low: float64(c.Low), high: float64(c.High)}
	s.marginLow, s.marginHigh, s.margin = t.onMarginScale(c)
	if t.sign() < 0 {
		s.low, s.high, s.marginLow, s.marginHigh = -s.high, -s.low, -s.marginHigh, -s.marginLow
	}
	return s
}

// LevelValues returns the levels as numbers, or nil when one is none.
func LevelValues(levels []string) []float64 {
	out := make([]float64, len(levels))
	for i, text := range levels {
		v, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
		if err != nil {
			return nil
		}
		out[i] = v
	}
	return out
}
