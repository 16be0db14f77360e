package render

import (
	"fmt"
	"strconv"
	"strings"

	"fairrun/stats/compare"
	"fairrun/stats/verdict"
)

// Verdict lays a verdict out for reading; explain adds the table of variance
// and the adjusted means of every response.
func Verdict(v *verdict.Verdict) *Document {
	d := &Document{}
	if v.Campaign.Title != "" {
		d.Heading("%s", v.Campaign.Title)
	}
	if v.Campaign.Scope != "" {
		d.Text("What follows holds for: %s.", v.Campaign.Scope)
	}
	for i := range v.Responses {
		response(d, &v.Responses[i])
	}
	return d
}

// response lays out one response: what it is, the comparisons and their words,
// the means, the noise, the analysis of variance, and what to be wary of.
func response(d *Document, r *verdict.Response) {
	d.Heading("%s", title(r))
	d.Text("%s", runs(r.Runs))
	d.Table(comparisons(r))
	if line := choice(r); line != "" {
		d.Text("%s", line)
	}
	d.Table(means(r))
	d.Table(anova(r))
	if line := noise(r); line != "" {
		d.Text("%s", line)
	}
	d.Table(failures(r))
	d.Table(alternatives(r))
	for _, c := range r.Checks {
		mark := "ok"
		if c.Flag {
			mark = "note"
		}
		d.Text("%s: %s - %s", mark, c.Name, c.Message)
	}
}

// title says what was measured and what matters.
func title(r *verdict.Response) string {
	parts := []string{}
	if r.Unit != "" {
		parts = append(parts, "in "+r.Unit)
	}
	if r.Better != "" {
		parts = append(parts, r.Better+" is better")
	}
	if r.Margin != nil {
		parts = append(parts, "margin "+margin(r))
	} else {
		parts = append(parts, "no margin stated")
	}
	if r.Scale == verdict.Log {
		parts = append(parts, "compared as ratios")
	}
	return r.Name + ": " + strings.Join(parts, ", ")
}

func margin(r *verdict.Response) string {
	if r.Margin.Relative {
		return short(verdict.Number(100*r.Margin.Value), 4) + " %"
	}
	return withUnit(short(verdict.Number(r.Margin.Value), 6), r.Unit)
}

// runs counts what became of the runs.
func runs(n verdict.Runs) string {
	parts := []string{fmt.Sprintf("%d good", n.OK)}
	for _, p := range []struct {
		n    int
		word string
	}{{n.Failed, "failed"}, {n.Void, "void"}, {n.Todo, "still to do or not measured"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.word))
		}
	}
	return "Runs: " + strings.Join(parts, ", ") + "."
}

// comparisons is the table of verdicts.
func comparisons(r *verdict.Response) Table {
	t := Table{Align: "lrrrrrrlr"}
	t.Head = []string{"comparison", heading("difference", r.Unit), heading("interval", r.Unit), "in %", "interval in %", "Hedges' g", "p", "verdict", "more"}
	several := len(factors(r)) > 1
	for _, c := range r.Comparisons {
		name := c.Level + " against " + c.Against
		if several {
			name = c.Factor + ": " + name
		}
		low, value, high := inUnit(r, c)
		n := decimals((high - low) / 4)
		pn := decimals((c.PercentHigh - c.PercentLow) / 4)
		t.Rows = append(t.Rows, []string{name,
			signed(value, n), span(low, high, n), signed(c.Percent, pn), span(c.PercentLow, c.PercentHigh, pn),
			digits(c.G, 2), chance(c.PAdjusted), string(c.Verdict), more(c)})
	}
	return t
}

func heading(word, unit string) string {
	if unit == "" {
		return word
	}
	return word + ", " + unit
}

// inUnit says a comparison in the response's unit. On the log scale that is
// the ratio applied to the mean it is held against.
func inUnit(r *verdict.Response, c verdict.Comparison) (low, value, high verdict.Number) {
	if r.Scale != verdict.Log {
		return c.Low, c.Estimate, c.High
	}
	against := verdict.Unknown
	for _, m := range r.Means {
		if m.Factor == c.Factor && m.Level == c.Against {
			against = m.Estimate / 100
		}
	}
	return against * c.PercentLow, against * c.Percent, against * c.PercentHigh
}

// signed writes a difference with its sign.
func signed(n verdict.Number, decimals int) string {
	text := digits(n, decimals)
	if n > 0 && text != none {
		return "+" + text
	}
	return text
}

// more says how many further replicates would settle a comparison.
func more(c verdict.Comparison) string {
	switch {
	case c.Verdict != compare.Unresolved:
		return ""
	case c.More == nil:
		return none
	}
	return "+" + strconv.Itoa(*c.More)
}

func factors(r *verdict.Response) []string {
	var out []string
	for _, c := range r.Comparisons {
		if len(out) == 0 || out[len(out)-1] != c.Factor {
			out = append(out, c.Factor)
		}
	}
	return out
}

// choice says which levels may be the best.
func choice(r *verdict.Response) string {
	switch {
	case len(r.Best) == 0:
		return ""
	case r.SmallestGood != nil:
		return fmt.Sprintf("Best (%s): %s. Smallest level shown to be within the margin of the best: %s.", r.Better, strings.Join(r.Best, " or "), *r.SmallestGood)
	}
	return fmt.Sprintf("Best (%s): %s.", r.Better, strings.Join(r.Best, " or "))
}

// means is the table of adjusted means.
func means(r *verdict.Response) Table {
	t := Table{Align: "llrrr", Head: []string{"factor", "level", "runs", heading("adjusted mean", r.Unit), "95 % interval"}}
	if len(r.Means) > 0 {
		t.Head[4] = "interval"
	}
	for _, m := range r.Means {
		n := decimals(m.SE)
		t.Rows = append(t.Rows, []string{m.Factor, m.Level, strconv.Itoa(m.N), digits(m.Estimate, n), span(m.Low, m.High, n)})
	}
	return t
}

// anova is the analysis of variance.
func anova(r *verdict.Response) Table {
	t := Table{Align: "lrrrrrr", Head: []string{"source", "df", "sum of squares", "mean square", "F", "p", "partial eta squared"}}
	for _, a := range r.ANOVA {
		t.Rows = append(t.Rows, []string{a.Term, short(a.DF, 6), short(a.SS, 5), short(a.MS, 5), blank(short(a.F, 4)), blank(chance(a.P)), blank(digits(a.Eta2, 2))})
	}
	return t
}

// blank leaves out what a table does not hold by nature.
func blank(text string) string {
	if text == none {
		return ""
	}
	return text
}

// noise says how much one run differs from the next.
func noise(r *verdict.Response) string {
	n := r.Noise
	if !n.SD.Known() {
		return ""
	}
	say := func(v verdict.Number) string { return withUnit(short(v, 3), r.Unit) }
	if r.Scale == verdict.Log {
		say = func(v verdict.Number) string { return short(100*v, 3) + " %" }
	}
	return fmt.Sprintf("Noise from run to run: %s (%s to %s, %s degrees of freedom). Two runs alike differ by more than %s once in 20 times. Treatments explain %s of the variance within blocks (omega squared %s).",
		say(n.SD), say(n.Low), say(n.High), short(n.DF, 6), say(n.Repeatability), short(100*r.Effect.Eta2, 3)+" %", digits(r.Effect.Omega2, 2))
}

// failures is the table of failed runs; it is left out when none failed.
func failures(r *verdict.Response) Table {
	t := Table{Align: "lrrr", Head: []string{"level", "failed", "of", "chance of failing"}}
	if r.Runs.Failed == 0 {
		return t
	}
	for _, f := range r.Failures {
		t.Rows = append(t.Rows, []string{f.Level, strconv.Itoa(f.Failed), strconv.Itoa(f.Runs), span(f.Low*100, f.High*100, 0) + " %"})
	}
	return t
}

// alternatives is the table of tests made because a check failed.
func alternatives(r *verdict.Response) Table {
	t := Table{Align: "lrrrrl", Head: []string{"alternative", "statistic", "df", "df", "p", "verdict survives"}}
	for _, a := range r.Alternatives {
		survives := "no"
		if a.Survives {
			survives = "yes"
		}
		t.Rows = append(t.Rows, []string{a.Name, short(a.Statistic, 4), short(a.DF1, 4), blank(short(a.DF2, 4)), chance(a.P), survives})
	}
	return t
}

// VerdictRows is the table of verdicts as CSV: a row a comparison, numbers with
// all their digits, headed as in the JSON contract.
func VerdictRows(v *verdict.Verdict) (head []string, rows [][]string) {
	head = []string{"response", "unit", "scale", "factor", "level", "against", "estimate", "se", "df", "t", "p", "p_adjusted", "low", "high",
		"percent", "percent_low", "percent_high", "hedges_g", "hedges_g_low", "hedges_g_high", "verdict", "more_replicates"}
	for _, r := range v.Responses {
		for _, c := range r.Comparisons {
			more := ""
			if c.More != nil {
				more = strconv.Itoa(*c.More)
			}
			row := []string{r.Name, r.Unit, string(r.Scale), c.Factor, c.Level, c.Against}
			for _, n := range []verdict.Number{c.Estimate, c.SE, c.DF, c.T, c.P, c.PAdjusted, c.Low, c.High,
				c.Percent, c.PercentLow, c.PercentHigh, c.G, c.GLow, c.GHigh} {
				row = append(row, full(n))
			}
			rows = append(rows, append(row, string(c.Verdict), more))
		}
	}
	return head, rows
}
