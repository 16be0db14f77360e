package size

import (
	"math"

	"fairrun/stats/verdict"
)

// terms turns differences on the scale of the analysis into the terms of the
// margin and back.
type terms struct{ log bool }

func (t terms) from(margin float64) float64 {
	if t.log {
		return math.Log1p(margin)
	}
	return margin
}

func (t terms) to(difference float64) verdict.Number {
	if t.log {
		return verdict.Number(math.Expm1(difference))
	}
	return verdict.Number(difference)
}

// noise turns a standard deviation on the scale of the analysis into the terms of
// the margin: one of logs, s, is a relative one of √(exp(s²) − 1), as for the
// lognormal law.
func (t terms) noise(sd float64) verdict.Number {
	if t.log {
		return verdict.Number(math.Sqrt(math.Expm1(sd * sd)))
	}
	return verdict.Number(sd)
}
