package judge

import (
	"math"

	"fairrun/stats/compare"
)

// Interval is a comparison in the terms of the margin; NaN where it cannot be made.
type Interval struct {
	Estimate, Low, High float64
	Word                compare.Word
}

// Unknown is the comparison that cannot be made.
var Unknown = Interval{math.NaN(), math.NaN(), math.NaN(), compare.Unresolved}

// Question is what is asked of a response.
type Question struct {
	Terms  compare.Terms // of the intervals and the margin
	Margin float64       // NaN: none
	Centre float64       // what was taken from every value of the response
	Lower  bool          // is better
}
