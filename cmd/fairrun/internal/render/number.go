package render

import (
	"math"
	"strconv"
	"strings"

	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// none stands where there is no number.
const none = "-"

// full writes a number with all its digits, or nothing.
func full(n verdict.Number) string {
	if !n.Known() {
		return ""
	}
	return strconv.FormatFloat(float64(n), 'g', -1, 64)
}

// digits writes a number with a number of decimals.
func digits(n verdict.Number, decimals int) string {
	if !n.Known() {
		return none
	}
	text := strconv.FormatFloat(float64(n), 'f', max(0, decimals), 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return text
}

// decimals says how many decimals show a quantity to two figures of its
// uncertainty.
func decimals(uncertainty verdict.Number) int {
	u := math.Abs(float64(uncertainty))
	if !uncertainty.Known() || u == 0 {
		return 3
	}
	return min(12, max(0, 1-int(math.Floor(math.Log10(u)))))
}

// intervalDecimals says how many decimals show a value to two figures of the
// uncertainty that its interval tells; an end may be open.
func intervalDecimals(low, value, high verdict.Number) int {
	switch {
	case !low.Known():
		low = 2*value - high
	case !high.Known():
		high = 2*value - low
	}
	return decimals((high - low) / 4)
}

// short writes a number to a few significant figures.
func short(n verdict.Number, figures int) string {
	if !n.Known() {
		return none
	}
	v := float64(n)
	if a := math.Abs(v); a != 0 && (a >= 1e7 || a < 1e-4) {
		return strconv.FormatFloat(v, 'e', figures-1, 64)
	}
	text := strconv.FormatFloat(v, 'g', figures, 64)
	if f, err := strconv.ParseFloat(text, 64); err == nil {
		text = strconv.FormatFloat(f, 'f', -1, 64)
	}
	return text
}

// dfs writes degrees of freedom: those of a least-squares fit are whole, others have one decimal.
func dfs(n verdict.Number) string {
	if v := float64(n); v == math.Round(v) || v >= 1000 {
		return digits(n, 0)
	}
	return digits(n, 1)
}

// span writes an interval, which may be open at one end.
func span(low, high verdict.Number, decimals int) string {
	switch {
	case !low.Known() && !high.Known():
		return none
	case !low.Known():
		return "up to " + digits(high, decimals)
	case !high.Known():
		return "from " + digits(low, decimals)
	}
	return digits(low, decimals) + " to " + digits(high, decimals)
}

// chance writes a p-value.
func chance(p verdict.Number) string {
	if !p.Known() {
		return none
	}
	return words.Chance(float64(p))
}

// equals puts a written p-value into a sentence: "= 0.03", "< 0.0001".
func equals(p string) string {
	if rest, ok := strings.CutPrefix(p, "<"); ok {
		return "< " + rest
	}
	return "= " + p
}

// withUnit appends a unit.
func withUnit(text, unit string) string {
	if unit == "" || text == none {
		return text
	}
	return text + noBreak + unit
}
