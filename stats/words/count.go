package words

import (
	"fmt"
	"strings"
)

// Count returns a number and a noun, in the plural when it is not one: "1 pack",
// "4 packs", "2 batteries".
func Count(n int, noun string) string { return CountOf(n, noun, Plural(noun)) }

// CountOf is Count for a noun with a plural of its own: "2 mice".
func CountOf(n int, one, several string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, several)
}

// Plural returns the plural of a regular English noun.
func Plural(noun string) string {
	lower := strings.ToLower(noun)
	for _, end := range []string{"s", "x", "z", "ch", "sh"} {
		if strings.HasSuffix(lower, end) {
			return noun + "es"
		}
	}
	if stem, y := strings.CutSuffix(noun, "y"); y && stem != "" && !strings.ContainsAny(lower[len(stem)-1:len(stem)], "aeiou") {
		return stem + "ies"
	}
	return noun + "s"
}

// Agree returns the form of a verb that goes with so many things: "is" or "are".
func Agree(n int, one, more string) string {
	if n == 1 {
		return one
	}
	return more
}

// Times says how often: "once", "twice", "3 times".
func Times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// Degrees puts a number of degrees of freedom, written as a caller writes
// numbers, into words.
func Degrees(df string) string {
	if df == "1" {
		return "1 degree of freedom"
	}
	return df + " degrees of freedom"
}
