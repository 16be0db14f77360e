package rehearse

import "fairrun/stats/compare"

// words lists the verdict words in the order of a tally.
var words = [...]compare.Word{compare.Matters, compare.Real, compare.Trivial, compare.Equal, compare.Unresolved}

func wordIndex(w compare.Word) int {
	for i, v := range words {
		if v == w {
			return i
		}
	}
	panic("rehearse: unknown verdict word")
}
