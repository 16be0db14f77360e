package table

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// SortLevels puts the levels of a column in the order a person expects, whatever
// the order of the rows: by value when all are numbers, otherwise alphabetically
// with numbers inside the text counted as numbers (P2 before P10) and capitals
// beside their small letters.
func (d Dialect) SortLevels(levels []string) {
	value := make(map[string]float64, len(levels))
	for _, level := range levels {
		_, v, ok := d.Number(level)
		if !ok {
			slices.SortFunc(levels, natural)
			return
		}
		value[level] = v
	}
	slices.SortFunc(levels, func(a, b string) int {
		return cmp.Or(cmp.Compare(value[a], value[b]), strings.Compare(a, b))
	})
}

// natural orders text: runs of digits by the number they write, other characters
// by their small letter; what is still equal by bytes. It is a total order.
func natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		if isDigit(x[0]) && isDigit(y[0]) {
			var m, n string
			m, x = cutDigits(x)
			n, y = cutDigits(y)
			if c := cmp.Or(cmp.Compare(len(m), len(n)), strings.Compare(m, n)); c != 0 {
				return c
			}
			continue
		}
		r, i := utf8.DecodeRuneInString(x)
		s, j := utf8.DecodeRuneInString(y)
		if c := cmp.Compare(unicode.ToLower(r), unicode.ToLower(s)); c != 0 {
			return c
		}
		x, y = x[i:], y[j:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(a, b))
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// cutDigits is the number s starts with, without leading zeros, and the rest.
func cutDigits(s string) (digits, rest string) {
	i := 0
	for i < len(s) && isDigit(s[i]) {
		i++
	}
	return strings.TrimLeft(s[:i], "0"), s[i:]
}
