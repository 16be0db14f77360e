package verdict

import (
	"math"
	"strconv"
)

// Number is a result that may be unknown. An unknown number is NaN inside and
// null in JSON; a known one is written with all its digits.
type Number float64

// Unknown is the number that the data cannot support.
var Unknown = Number(math.NaN())

// Known says whether there is a finite number.
func (n Number) Known() bool {
	return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0)
}

// MarshalJSON writes the shortest text that reads back as the same number, or
// null.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.Known() {
		return []byte("null"), nil
	}
	format := byte('f')
	if a := math.Abs(float64(n)); a != 0 && (a < 1e-6 || a >= 1e21) {
		format = 'e'
	}
	return strconv.AppendFloat(nil, float64(n), format, -1, 64), nil
}

// UnmarshalJSON reads a number, or null as [Unknown].
func (n *Number) UnmarshalJSON(text []byte) error {
	if string(text) == "null" {
		*n = Unknown
		return nil
	}
	f, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		return err
	}
	*n = Number(f)
	return nil
}
