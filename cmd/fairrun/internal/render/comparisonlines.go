package render

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fairrun/stats/compare"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// nearest are the comparisons that are shown: all, or of many those with the best level of their factor. rest counts the others,
// "" where there are none.
func nearest(r *verdict.Response) (shown []verdict.Comparison, rest string) {
	if len(r.Comparisons) <= mostCompared {
		return r.Comparisons, ""
	}
	best := map[string]string{}
	for _, name := range factors(r) {
		best[name] = leader(r, name)
	}
	count := map[compare.Word]int{}
	for _, c := range r.Comparisons {
		b := best[c.Factors.Term()]
		if len(shown) < 2*mostCompared && (b == "" && len(shown) < mostCompared || b != "" && (c.Level == b || c.Against == b)) {
			shown = append(shown, c)
			continue
		}
		count[c.Verdict]++
	}
	var parts []string
	for _, w := range []compare.Word{compare.Matters, compare.Real, compare.Trivial, compare.Equal, compare.Unresolved} {
		if count[w] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", count[w], w))
		}
	}
	if parts == nil {
		return shown, ""
	}
	return shown, fmt.Sprintf("%s more, of other levels (--full): %s.", words.Count(len(r.Comparisons)-len(shown), "comparison"), strings.Join(parts, ", "))
}

// leader is the level of a factor whose mean is best, "" where no side is.
func leader(r *verdict.Response, factor string) string {
	level, best := "", verdict.Unknown
	for _, m := range r.Means {
		if m.Factors.Term() != factor || !m.Estimate.Known() || r.Better == "" {
			continue
		}
		if !best.Known() || (m.Estimate < best) == (r.Better == "lower") {
			level, best = m.Level, m.Estimate
		}
	}
	return level
}

// lines is the table of comparisons: the word, which level is better, the difference in the terms of the margin, and the picture of
// its interval against zero and the margin.
func lines(r *verdict.Response, shown []verdict.Comparison) Table {
	side := "better"
	if r.Better == "" {
		side = "higher"
	}
	relative, unit := inPercent(r), r.Unit
	if relative {
		unit = "in" + noBreak + "%"
	}
	t := Table{Align: "lllrrrr", Tight: true, Spare: []int{6}, Groups: []int{1, 3, 5},
		Head: []string{"comparison", "verdict", side, unit, "interval", "p", "g"}, Pictures: &Strips{Margin: math.NaN()}}
	if unit == "" {
		t.Head[3] = "difference"
	}
	inLog := r.Scale == verdict.Log && relative
	if m := r.Margin; m != nil {
		below, above := m.Value, m.Value
		t.Pictures.Margin = m.Value
		switch {
		case inLog:
			t.Pictures.Margin = math.Log1p(m.Value)
			below, above = -100*math.Expm1(-t.Pictures.Margin), 100*m.Value
		case relative:
			t.Pictures.Margin, below, above = 100*m.Value, 100*m.Value, 100*m.Value
		}
		t.Pictures.Below, t.Pictures.Above = "-"+short(verdict.Number(below), 3), "+"+short(verdict.Number(above), 3)
	}
	several := len(factors(r)) > 1
	for _, c := range shown {
		name := c.Level + " against " + strings.TrimPrefix(c.Against, "the ")
		if several {
			name = c.Factors.Term() + ": " + name
		}
		low, value, high := inUnit(r, c)
		if relative {
			low, value, high = c.PercentLow, c.Percent, c.PercentHigh
		}
		n := wordDecimals(r, relative, low, value, high)
		t.Rows = append(t.Rows, []string{name, string(c.Verdict), winner(r, c), signed(value, n), signedSpan(low, high, n), chance(c.PAdjusted), signed(c.G, 2)})
		if inLog { // on which the margin is as far on either side
			low, value, high = c.Low, c.Estimate, c.High
		}
		t.Pictures.Rows = append(t.Pictures.Rows, Interval{low, value, high})
	}
	return t
}

// inPercent says whether differences are read in per cent: as the margin is, or without one as the scale is.
func inPercent(r *verdict.Response) bool {
	if r.Margin == nil {
		return r.Scale == verdict.Log
	}
	return r.Margin.Relative
}

// winner is the better level of a comparison that is clear of zero, or the higher where no side is better.
func winner(r *verdict.Response, c verdict.Comparison) string {
	if !c.Verdict.Differs() {
		return none
	}
	if (c.Estimate > 0) == (r.Better != "lower") {
		return c.Level
	}
	if !slices.ContainsFunc(r.Means, func(m verdict.Mean) bool { return m.Level == c.Against }) { // the best of the others
		return "another"
	}
	return c.Against
}

// wordDecimals is intervalDecimals, and more where rounding would show an end as zero or as the margin that is not.
func wordDecimals(r *verdict.Response, relative bool, low, value, high verdict.Number) int {
	n := intervalDecimals(low, value, high)
	if !low.Known() && !high.Known() {
		return n
	}
	landmarks := []float64{0}
	if m := r.Margin; m != nil && m.Relative == relative {
		v := m.Value
		if m.Relative {
			v *= 100
			if r.Scale == verdict.Log {
				landmarks = append(landmarks, 100*(1/(1+m.Value)-1))
			}
		}
		landmarks = append(landmarks, v, -v)
	}
	for range 3 {
		for _, end := range []verdict.Number{low, high} {
			for _, mark := range landmarks {
				if end.Known() && float64(end) != mark && digits(end, n) == digits(verdict.Number(mark), n) {
					n++
				}
			}
		}
	}
	return n
}

// signedSpan is span with signs at the ends.
func signedSpan(low, high verdict.Number, decimals int) string {
	switch {
	case !low.Known() && !high.Known():
		return none
	case !low.Known():
		return "up to " + signed(high, decimals)
	case !high.Known():
		return "from " + signed(low, decimals)
	}
	return signed(low, decimals) + " to " + signed(high, decimals)
}
