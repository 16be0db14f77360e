package screen

import (
	"math/bits"
	"strings"

	"fairrun/design/lot"
	"fairrun/stats/words"
)

// Alias is a set of effects that the runs cannot tell from each other: the estimate is their sum,
// those with Negative set counting −1. Each effect is given by the factors it is made of, counted
// from 0.
type Alias struct {
	Effects  [][]int
	Negative []bool
}

// Aliases returns the sets of main effects and interactions of up to the given number of factors
// that are mixed with each other, in the order of their first effects, main effects first. Effects
// that stand alone are sets of one.
func (f *Fraction) Aliases(order int) []Alias {
	var effects []uint32
	for n := 1; n <= order && n <= f.Factors; n++ {
		for subset := range lot.Subsets(f.Factors, n) {
			var e uint32
			for _, i := range subset {
				e |= 1 << i
			}
			effects = append(effects, e)
		}
	}
	var aliases []Alias
	seen := map[uint32]bool{}
	for _, e := range effects {
		if seen[e] {
			continue
		}
		var a Alias
		for _, other := range effects {
			negative, alias := f.words[e^other]
			if other == e || alias {
				seen[other] = true
				a.Effects = append(a.Effects, members(other))
				a.Negative = append(a.Negative, negative)
			}
		}
		aliases = append(aliases, a)
	}
	return aliases
}

// Words says in words what an alias set means, with the factors' own names.
func (a Alias) Words(names []string) string {
	text := make([]string, len(a.Effects))
	for i, e := range a.Effects {
		parts := make([]string, len(e))
		for j, factor := range e {
			parts[j] = names[factor]
		}
		kind := "the effect of "
		if len(e) > 1 {
			kind = "the interaction of "
		}
		if a.Negative[i] {
			kind = "the reversed " + strings.TrimPrefix(kind, "the ")
		}
		text[i] = kind + words.And(parts)
	}
	if len(text) == 1 {
		return text[0] + " stands alone"
	}
	return text[0] + " cannot be distinguished from " + words.And(text[1:])
}

// members returns the elements of a set in ascending order.
func members(set uint32) []int {
	var x []int
	for ; set != 0; set &= set - 1 {
		x = append(x, bits.TrailingZeros32(set))
	}
	return x
}
