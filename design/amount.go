package design

import (
	"strconv"
	"strings"
)

// Amount is a size in the response's unit, or relative to the response: "2%" has Value 0.02 and
// Relative true. The zero value is no amount.
type Amount struct {
	Set      bool    `json:"set"`
	Value    float64 `json:"value"` // positive and finite when Set
	Relative bool    `json:"relative"`
}

// String returns the amount as a plan states it, without its unit: "2%", "0.5", and "none" when it
// is not set. Different amounts have different Strings.
func (a Amount) String() string {
	switch {
	case !a.Set:
		return "none"
	case a.Relative:
		return percent(a.Value)
	}
	return strconv.FormatFloat(a.Value, 'g', -1, 64)
}

// percent writes a positive share as a percentage by moving the decimal point, so that no digit is
// made up: 0.07 is "7%".
func percent(share float64) string {
	whole, fraction, _ := strings.Cut(strconv.FormatFloat(share, 'f', -1, 64), ".")
	for len(fraction) < 2 {
		fraction += "0"
	}
	whole = strings.TrimLeft(whole+fraction[:2], "0")
	if whole == "" {
		whole = "0"
	}
	if fraction = strings.TrimRight(fraction[2:], "0"); fraction != "" {
		whole += "." + fraction
	}
	return whole + "%"
}
