package decimal

import (
	"fmt"
	"math"
	"math/big"
)

// NotPositiveError reports a number that has no logarithm.
type NotPositiveError struct {
	Row   int     // counts from zero
	Value float64 // the number, zero or less
}

func (e *NotPositiveError) Error() string {
	return fmt.Sprintf("row %d holds %v, and only a positive number has a logarithm", e.Row, e.Value)
}

// LogCentre returns a centre and the deviation of each row's natural logarithm
// from it,
//
//	log y[i] = centre + dev[i],
//
// NaN where the number is missing. With y0 the offset that Centre takes away,
//
//	centre = log y0,  dev[i] = log1p((y[i] - y0) / y0),
//
// so logarithms that differ in their fifteenth digit only are still kept apart:
// each dev is good to a few units in its own last place. Where Centre takes
// nothing away y0 is a power of two amid the numbers, dev[i] = log(y[i]/y0), and
// the error is a few units in the last place of the largest dev. (Numbers below
// 2e-308 have fewer digits as float64, and so have their logarithms then.)
//
// The error is a *NotPositiveError for the first row that is not positive.
func (c *Column) LogCentre() (centre float64, dev []float64, err error) {
	for i := range c.mant {
		if !c.positive(i) {
			return 0, nil, &NotPositiveError{i, c.Floats()[i]}
		}
	}
	offset, dev := c.Centre()
	if offset != 0 {
		for i, d := range dev {
			dev[i] = math.Log1p(d / offset)
		}
		return math.Log(offset), dev, nil
	}
	lo, hi := c.extent()
	_, a := math.Frexp(lo)
	_, b := math.Frexp(hi)
	e := (a + b) / 2
	for i, y := range dev {
		dev[i] = math.Log(math.Ldexp(y, -e))
	}
	return float64(e) * math.Ln2, dev, nil
}

// positive reports whether row i holds a positive number or none.
func (c *Column) positive(i int) bool {
	switch c.exp[i] {
	case missing:
		return true
	case long:
		return c.long[c.mant[i]].mant.Cmp(new(big.Int)) > 0
	}
	return c.mant[i] > 0
}
