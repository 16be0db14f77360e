package words

import "strconv"

// P puts a p-value into a sentence: "p = 0.030", "p < 0.0001". All texts write p so: with three decimals, four where it is below
// 0.01.
func P(p float64) string {
	if p < 0.0001 {
		return "p < 0.0001"
	}
	return "p = " + Chance(p)
}

// Chance writes a p-value by itself: "0.030", "<0.0001".
func Chance(p float64) string {
	switch {
	case p < 0.0001:
		return "<0.0001"
	case p < 0.01:
		return strconv.FormatFloat(p, 'f', 4, 64)
	}
	return strconv.FormatFloat(p, 'f', 3, 64)
}
