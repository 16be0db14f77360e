package linmod

import "math"

// slope is a covariate, centred at its mean over the used rows and scaled to
// root mean square 1 there; all zero if it is constant.
type slope struct {
	value  []float64 // of each row of the data, as given
	centre float64   // the mean, rounded
	rest   float64   // the mean of (value - centre)/scale: what rounding left
	scale  float64   // 0: the covariate is constant
	mean   []float64 // of each cell, after centring and scaling
	by     *category // nil: one slope for all
}

// at returns the centred and scaled value of a row.
func (s *slope) at(row int32) float64 {
	if s.scale == 0 {
		return 0
	}
	return (s.value[row]-s.centre)/s.scale - s.rest
}

// deviation returns how far a row lies from the mean of its cell.
func (s *slope) deviation(row int32, cell int) float64 { return s.at(row) - s.mean[cell] }

// level returns the level whose slope holds in a cell.
func (s *slope) level(cell int) int {
	if s.by == nil {
		return 0
	}
	return int(s.by.code[cell])
}

// slopes returns how many slopes there are.
func (s *slope) slopes() int {
	if s.by == nil {
		return 1
	}
	return s.by.levels()
}

func newSlope(c Covariate, cs *cells) slope {
	s := slope{value: c.Value, mean: make([]float64, cs.count())}
	if c.By != nil {
		by := categorise(c.By, cs)
		s.by = &by
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, row := range cs.rows {
		lo, hi = min(lo, c.Value[row]), max(hi, c.Value[row])
	}
	if lo == hi {
		return s
	}
	s.centre = meanOf(cs.rows, func(row int32) float64 { return c.Value[row] })
	width := hi - lo
	var ss float64
	for _, row := range cs.rows {
		d := (c.Value[row] - s.centre) / width
		ss += d * d
	}
	s.scale = width * math.Sqrt(ss/float64(len(cs.rows)))
	s.rest = meanOf(cs.rows, s.at)
	for k := range s.mean {
		s.mean[k] = meanOf(cs.in(k), s.at)
	}
	return s
}

// meanOf returns the mean over rows, corrected by the mean deviation from it, so
// that it is good to the last digit or nearly so.
func meanOf(rows []int32, value func(row int32) float64) float64 {
	n := float64(len(rows))
	var sum float64
	for _, row := range rows {
		sum += value(row)
	}
	mean := sum / n
	var rest float64
	for _, row := range rows {
		rest += value(row) - mean
	}
	return mean + rest/n
}
