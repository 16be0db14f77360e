package render

import (
	"fmt"

	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// toRead is a response with the comparisons that are to be read: of a factorial those of combinations, or those of averages.
// rest says where the others are, "" where there are none.
func toRead(r *verdict.Response) (read *verdict.Response, rest string) {
	if r.Read == nil {
		return r, ""
	}
	own := *r
	own.Comparisons, own.Best = nil, r.Best
	kind := "each factor averaged over the others"
	if r.Read.Of == verdict.ReadAverages {
		own.Best, own.SmallestGood, kind = r.BestAverages, nil, "combinations"
	}
	for _, c := range r.Comparisons {
		if (len(c.Factors) == 1) == (r.Read.Of == verdict.ReadAverages) {
			own.Comparisons = append(own.Comparisons, c)
		}
	}
	if n := len(r.Comparisons) - len(own.Comparisons); n > 0 {
		rest = fmt.Sprintf("%s more, of %s: --full.", words.Count(n, "comparison"), kind)
	}
	return &own, rest
}
