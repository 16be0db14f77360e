package render

import (
	"fmt"
	"slices"
	"strings"

	"fairrun/stats/compare"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// mostNamedLevels is how many levels, or comparisons, a sentence names.
const mostNamedLevels = 6

// answer says in a sentence or three which levels are best, which is the smallest that will do, and what is open.
func answer(r *verdict.Response) string {
	parts := leading(r)
	if n := len(parts); r.SmallestGood != nil && n > 0 && len(r.Best) > 1 {
		join := "; "
		if strings.Contains(parts[n-1], ";") {
			join = ". "
		}
		parts[n-1] = strings.TrimSuffix(parts[n-1], ".") + join + *r.SmallestGood + " is the smallest shown to be as good."
	} else if r.SmallestGood != nil && n > 0 && *r.SmallestGood != r.Best[0] {
		parts[n-1] = fmt.Sprintf("%s; %s is the smallest shown to be within the margin of it.", strings.TrimSuffix(parts[n-1], "."), *r.SmallestGood)
	}
	parts = append(parts, open(r)...)
	if r.Read != nil {
		parts = append(parts, r.Read.Sentence())
	}
	return strings.Join(parts, " ")
}

// leading says which levels may be the best, a sentence a factor.
func leading(r *verdict.Response) []string {
	if r.Better == "" || len(r.Best) == 0 {
		return differences(r)
	}
	names := factors(r)
	var out []string
	for _, name := range names {
		best, of := r.Best, ""
		if len(names) > 1 || r.Read != nil && r.Read.Of == verdict.ReadAverages {
			best, of = nil, name+": "
			for _, b := range r.Best {
				if level, ok := strings.CutPrefix(b, name+" "); ok {
					best = append(best, level)
				}
			}
		}
		if text := firstOf(r, name, best); text != "" {
			out = append(out, of+text)
		}
	}
	return out
}

// firstOf says which levels of one factor are best.
func firstOf(r *verdict.Response, factor string, best []string) string {
	levels := 0
	for _, m := range r.Means {
		if m.Factors.Term() == factor {
			levels++
		}
	}
	pairs, settled, withBest := 0, 0, true // comparisons between those that may be the best
	for _, c := range r.Comparisons {
		rival := slices.ContainsFunc(r.Means, func(m verdict.Mean) bool { return m.Level == c.Against })
		if c.Factors.Term() != factor || !slices.Contains(best, c.Level) || rival && !slices.Contains(best, c.Against) {
			continue
		}
		pairs++
		if c.Verdict == compare.Equal || c.Verdict == compare.Trivial {
			settled++
		}
		withBest = withBest && !rival
	}
	all := len(best) * (len(best) - 1) / 2
	if withBest { // each with the best of the others
		all = len(best)
	}
	whole := pairs > 0 && settled == pairs && pairs == all
	names := list(best)
	switch {
	case len(best) == 0:
		return ""
	case len(best) == 1:
		return names + " is the best."
	case whole && len(best) == levels:
		return fmt.Sprintf("No difference that matters between %s.", names)
	case whole:
		return fmt.Sprintf("%s are the best, without a difference that matters between them.", names)
	case len(best) == levels:
		return fmt.Sprintf("Open which is the best: %s may be.", anyOf(best))
	}
	return fmt.Sprintf("%s may be the best; the others are shown not to be.", anyOf(best))
}

// list names levels, of many some.
func list(names []string) string {
	if len(names) > mostNamedLevels {
		return words.List(names, mostNamedLevels-1)
	}
	return words.And(names)
}

// anyOf is list with "or".
func anyOf(names []string) string {
	if n := len(names); n > 1 && n <= mostNamedLevels {
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return list(names)
}

// differences counts what is clear of zero, where no side is better.
func differences(r *verdict.Response) []string {
	clear := 0
	for _, c := range r.Comparisons {
		if c.Verdict.Differs() {
			clear++
		}
	}
	switch n := len(r.Comparisons); {
	case clear == 0 && n == len(withWord(r, compare.Equal)):
		return []string{"No difference that matters."}
	case clear == 0:
		return []string{"No difference is shown."}
	case clear == n && n == 1:
		return []string{"The difference is real."}
	default:
		return []string{fmt.Sprintf("%d of %s %s a real difference.", clear, words.Count(n, "comparison"), words.Agree(clear, "shows", "show"))}
	}
}

// open says which comparisons are unsettled: real ones that may lie on either side of the margin, and unresolved ones.
func open(r *verdict.Response) []string {
	var out []string
	if names := withWord(r, compare.Real); len(names) > 0 && r.Margin != nil {
		out = append(out, fmt.Sprintf("Real, but open whether by as much as %s: %s.", margin(r), words.List(names, 3)))
	}
	if names := withWord(r, compare.Unresolved); len(names) > 0 {
		out = append(out, fmt.Sprintf("Unresolved: %s.", words.List(names, 3)))
	}
	return out
}
