package plan

import (
	"fairrun/design"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// amount reads the amount under a key: a positive number in the response's unit, or a percentage
// in quotes.
func (s section) amount(key, unit string) (a design.Amount, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return design.Amount{}, true
	}
	v := e.value
	in := "in the response's unit"
	if unit != "" {
		in = "in " + unit
	}
	write := fmt.Sprintf(`write a number %s, or a percentage in quotes such as "2%%"`, in)
	if v.kind == kindText {
		x, isPercent := parsePercent(v.text)
		switch {
		case isPercent && x > 0 && !math.IsInf(x, 0):
			return design.Amount{Set: true, Value: x, Relative: true}, true
		case isPercent:
			s.add(v.at, fmt.Sprintf("%s is %q", key, shorten(v.text)), "a percentage must be above zero")
		case plainDecimal(v.text):
			s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), fmt.Sprintf("write %s without quotes %s, or \"%s%%\" for a percentage", v.text, in, v.text))
		default:
			if key == "noise" && strings.HasSuffix(v.text, ".toml") {
				write = "the record of a rig's noise is named under [rig]; here " + write
			}
			s.add(v.at, fmt.Sprintf("%s is %q, which has no number to go by", key, shorten(v.text)), write)
		}
		return design.Amount{}, false
	}
	x, what, _ := v.number()
	switch {
	case what != "":
		s.add(v.at, key+" is "+what, write)
	case x <= 0:
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.text), "it must be above zero")
	default:
		return design.Amount{Set: true, Value: x}, true
	}
	return design.Amount{}, false
}

// ParseAmount reads an amount as it is written outside a plan: "2%" or "0.5". Whether it is above zero
// is for the caller to say; ok is false for what is no finite number.
func ParseAmount(text string) (x float64, relative, ok bool) {
	text = strings.TrimSpace(text)
	if x, ok := parsePercent(text); ok {
		return x, true, !math.IsInf(x, 0)
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, false, err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}

// parsePercent reads "2%", "2 %" or "1.5%" as 0.02 and 0.015, correctly rounded. ok is false for
// anything else, signs and exponents among it.
func parsePercent(text string) (x float64, ok bool) {
	digits, isPercent := strings.CutSuffix(text, "%")
	digits = strings.TrimRightFunc(digits, unicode.IsSpace) // a non-breaking blank, too
	if !isPercent || !plainDecimal(strings.TrimPrefix(digits, "-")) {
		return 0, false
	}
	x, err := strconv.ParseFloat(digits+"e-2", 64)
	if err != nil && !math.IsInf(x, 0) {
		return 0, false
	}
	return x, true
}
