package render

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fairrun/stats/compare"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// FullVerdict lays out all of a verdict: the answer, and every table and check.
func FullVerdict(v *verdict.Verdict) *Document {
	d := &Document{}
	campaign(d, v)
	once := saidOnce(v)
	for i := range v.Responses {
		response(d, &v.Responses[i], len(v.Responses) > 1, once)
	}
	if once != nil {
		d.Text("%s", remark(*once))
	}
	return d
}

// saidOnce is the check of what was tested, where it is that of all responses: it stands behind the
// last. nil where there is none.
func saidOnce(v *verdict.Verdict) *verdict.Check {
	var once *verdict.Check
	for i := range v.Responses {
		k := slices.IndexFunc(v.Responses[i].Checks, func(c verdict.Check) bool { return c.Name == "specimens" && (i == 0 || c.Message == once.Message) })
		if k < 0 {
			return nil
		}
		once = &v.Responses[i].Checks[k]
	}
	return once
}

// remark is a check as a line.
func remark(c verdict.Check) string {
	mark := "ok"
	if c.Flag {
		mark = "note"
	}
	return fmt.Sprintf("%s: %s - %s", mark, c.Name, c.Message)
}

// response lays out one response: what it is, the comparisons and their words,
// the means, the noise, the analysis of variance, and what to be wary of.
func response(d *Document, r *verdict.Response, several bool, once *verdict.Check) {
	d.Heading("%s", title(r))
	d.Text("%s", runs(r.Runs))
	unscaled := r.Unscaled()
	if unscaled != "" {
		d.Text("No verdict: %s.", unscaled)
	}
	if l := r.Looks; l != nil && l.Done > 0 {
		d.Text("Look %.0f of %d: adjusted p is compared with %s.", float64(l.Done), l.Of, short(l.Level, 3))
	}
	if slices.ContainsFunc(r.Comparisons, func(c verdict.Comparison) bool { return c.Low.Known() || c.High.Known() }) {
		read, _ := toRead(r)
		d.Text("%s", answer(read))
	}
	d.Table(comparisons(r))
	if text := outOfReach(r); text != "" {
		d.Text("%s", text)
	}
	d.Table(contrasts(r))
	d.Table(carriedOver(r))
	d.Table(simpleEffects(r))
	d.Table(means(r))
	d.Table(anova(r))
	if o := r.Overall; several && o.P.Known() {
		d.Text("All treatments together: p %s; adjusted for the number of responses p %s (Holm), p %s (Benjamini-Hochberg).", equals(chance(o.P)), equals(chance(o.PHolm)), equals(chance(o.PHochberg)))
	}
	if line := randomised(r); line != "" {
		d.Text("%s", line)
	}
	if line := noise(r); line != "" {
		d.Text("%s", line)
	}
	d.Table(parts(r))
	d.Table(failures(r))
	d.Table(alternatives(r))
	for _, c := range r.Checks {
		if unscaled != "" && c.Message == unscaled || once != nil && c.Name == once.Name && c.Message == once.Message {
			continue // said at the top, or at the end
		}
		d.Text("%s", remark(c))
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

// comparisons is the table of verdicts: the word first, then how large the
// difference is in the response's unit and in per cent, then what else is known
// of it.
func comparisons(r *verdict.Response) Table {
	t := Table{Align: "llrrrrrrr", Groups: []int{1, 4, 6}}
	t.Head = []string{"comparison", "verdict", heading("difference", r.Unit), "interval", "in %", "interval in %", "p", "Hedges' g", "interval of g"}
	several := len(factors(r)) > 1
	drawn := slices.ContainsFunc(r.Comparisons, func(c verdict.Comparison) bool { return c.PRandom.Known() })
	if drawn { // beside the p that it may be compared with
		t.Align, t.Head, t.Groups = t.Align+"r", slices.Insert(t.Head, 7, "p, randomised"), []int{1, 4, 6}
	}
	further := slices.ContainsFunc(r.Comparisons, func(c verdict.Comparison) bool { return c.More != nil })
	if further {
		t.Align, t.Head = t.Align+"r", append(t.Head, "more")
	}
	for _, c := range r.Comparisons {
		name := c.Level + " against " + c.Against
		if several {
			name = c.Factors.Term() + ": " + name
		}
		low, value, high := inUnit(r, c)
		n := wordDecimals(r, false, low, value, high)
		row := []string{name, string(c.Verdict), signed(value, n), signedSpan(low, high, n)}
		row = append(row, percent(r, c)...)
		row = append(row, chance(c.PAdjusted))
		if drawn {
			row = append(row, chance(c.PRandom))
		}
		row = append(row, signed(c.G, 2), signedSpan(c.GLow, c.GHigh, 2))
		if further {
			row = append(row, more(c))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// percent is a comparison in per cent and its interval. Without an interval
// there is nothing to say how many decimals mean something.
func percent(r *verdict.Response, c verdict.Comparison) []string {
	n := wordDecimals(r, true, c.PercentLow, c.Percent, c.PercentHigh)
	if !c.PercentLow.Known() && !c.PercentHigh.Known() {
		n = 0
	}
	return []string{signed(c.Percent, n), signedSpan(c.PercentLow, c.PercentHigh, n)}
}

func heading(word, unit string) string {
	if unit == "" {
		return word
	}
	return word + ", " + unit
}

// inUnit says a comparison in the response's unit. On the log scale that is
// the ratio applied to the mean it is compared with.
func inUnit(r *verdict.Response, c verdict.Comparison) (low, value, high verdict.Number) {
	if r.Scale != verdict.Log {
		return c.Low, c.Estimate, c.High
	}
	against := verdict.Unknown
	for _, m := range r.Means {
		if slices.Equal(m.Factors, c.Factors) && m.Level == c.Level {
			against = m.Estimate / (100 + c.Percent)
		}
	}
	return against * c.PercentLow, against * c.Percent, against * c.PercentHigh
}

// outOfReach says of unresolved comparisons that no affordable number of replicates would settle them; "" where one
// would, or where it is not runs that it takes.
func outOfReach(r *verdict.Response) string {
	if r.Margin == nil || r.Looks != nil || len(r.Model.Random) > 0 || !r.Noise.SD.Known() {
		return ""
	}
	var names []string
	for _, c := range r.Comparisons {
		if c.Verdict == compare.Unresolved && c.More == nil && c.SE.Known() {
			names = append(names, c.Level+" against "+c.Against)
		}
	}
	if names == nil {
		return ""
	}
	return fmt.Sprintf("No affordable number of replicates would settle %s: widen the margin, or make the bench quieter.", strings.Join(names, ", "))
}

// signed writes a difference with its sign.
func signed(n verdict.Number, decimals int) string {
	text := digits(n, decimals)
	if n > 0 && text != none && strings.Trim(text, "0.") != "" {
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

// factors are those whose levels are compared, or combinations of which are.
func factors(r *verdict.Response) []string {
	var out []string
	for _, c := range r.Comparisons {
		if name := c.Factors.Term(); !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// contrasts is the table of trends and of the contrasts that were asked for. A
// trend is per unit of the level.
func contrasts(r *verdict.Response) Table {
	t := Table{Align: "llrrrl", Head: []string{"factor", "contrast", heading("estimate", r.Unit), "interval", "p", "verdict"}}
	say := func(n verdict.Number) verdict.Number { return n }
	if r.Scale == verdict.Log {
		t.Head[2] = "estimate, %"
		say = func(n verdict.Number) verdict.Number { return verdict.Number(100 * math.Expm1(float64(n))) }
	}
	for _, c := range r.Contrasts {
		low, value, high := say(c.Low), say(c.Estimate), say(c.High)
		n := intervalDecimals(low, value, high)
		t.Rows = append(t.Rows, []string{c.Factors.Term(), c.Name, signed(value, n), signedSpan(low, high, n), chance(c.PAdjusted), string(c.Verdict)})
	}
	return t
}

// simpleEffects is the table of one factor's comparisons with the others held.
func simpleEffects(r *verdict.Response) Table {
	t := Table{Align: "lllrrrl", Head: []string{"factor", "at", "comparison", "in %", "interval in %", "p", "verdict"}}
	for _, c := range r.Simple {
		row := append([]string{c.Factors.Term(), c.At, c.Level + " against " + c.Against}, percent(r, c.Comparison)...)
		t.Rows = append(t.Rows, append(row, chance(c.PAdjusted), string(c.Verdict)))
	}
	return t
}

// means is the table of adjusted means.
func means(r *verdict.Response) Table {
	t := Table{Align: "lrrr", Head: []string{"level", "runs", heading("adjusted mean", r.Unit), "interval"}}
	several := slices.ContainsFunc(r.Means, func(m verdict.Mean) bool { return !slices.Equal(m.Factors, r.Means[0].Factors) })
	if len(r.Means) > 0 && !several {
		t.Head[0] = r.Means[0].Factors.Term()
	}
	for _, m := range r.Means {
		name := m.Level
		if several {
			name = m.Factors.Term() + ": " + name
		}
		n := decimals(m.SE)
		t.Rows = append(t.Rows, []string{name, strconv.Itoa(m.N), digits(m.Estimate, n), span(m.Low, m.High, n)})
	}
	return t
}

// anova is the analysis of variance.
func anova(r *verdict.Response) Table {
	t := Table{Align: "lrrrrrr", Head: []string{"source", "df", "sum of squares", "mean square", "F", "p", "partial eta²"}}
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

// randomised says what the randomisation test of all treatments together found.
func randomised(r *verdict.Response) string {
	t := r.Randomise
	if t == nil {
		return ""
	}
	if t.Exact {
		return fmt.Sprintf("Randomisation test: of all %d orders that might have been drawn, a share of %s would have set the treatments as far apart, had they done nothing (p %s, exact).",
			t.Orders, short(t.P, 3), equals(chance(t.P)))
	}
	return fmt.Sprintf("Randomisation test: of %d orders drawn afresh by the rule of the sheet, %.0f would have set the treatments as far apart, had they done nothing (p %s).",
		t.Orders, math.Round(float64(t.P)*float64(t.Orders+1)-1), equals(chance(t.P)))
}

// noise says how much one run differs from the next.
func noise(r *verdict.Response) string {
	n := r.Noise
	if !n.SD.Known() {
		return ""
	}
	times, unit := verdict.Number(1), r.Unit
	if r.Scale == verdict.Log {
		times, unit = 100, "%"
	}
	figures := intervalDecimals(times*n.Low, times*n.SD, times*n.High)
	say := func(v verdict.Number) string { return withUnit(digits(times*v, figures), unit) }
	text := fmt.Sprintf("Noise from run to run: %s (%s to %s, %s). Two runs alike differ by more than %s once in 20 times%s.",
		say(n.SD), say(n.Low), say(n.High), words.Degrees(dfs(n.DF)), say(n.Repeatability), shareNothing(n, say))
	if e := r.Effect; e.Eta2.Known() && e.Omega2.Known() {
		text += fmt.Sprintf(" Treatments explain %s %% of the variance%s (partial eta²); omega² is %s.", short(100*e.Eta2, 3), left(r.Model), digits(e.Omega2, 2))
	}
	return text
}

// shareNothing says how much two runs differ that share none of what is random.
func shareNothing(n verdict.Noise, say func(verdict.Number) string) string {
	if !n.Reproducibility.Known() || len(n.Components) < 2 {
		return ""
	}
	return fmt.Sprintf(", two that share nothing of what follows by more than %s", say(n.Reproducibility))
}

// left names what the treatments' share of the variance leaves out of account.
func left(m verdict.Model) string {
	switch {
	case len(m.Blocks) > 0 && len(m.Covariates) > 0:
		return " that blocks and covariates leave"
	case len(m.Blocks) > 0:
		return " that blocks leave"
	case len(m.Covariates) > 0:
		return " that covariates leave"
	}
	return ""
}

// parts is the table of the noise's parts; it is left out when the run is the
// only one.
func parts(r *verdict.Response) Table {
	t := Table{Align: "lrrr", Head: []string{"noise between", heading("sd", r.Unit), "interval", "share of variance"}}
	percent := verdict.Number(1)
	if r.Scale == verdict.Log {
		t.Head[1], percent = "sd, %", 100
	}
	if len(r.Noise.Components) < 2 {
		return t
	}
	for _, c := range r.Noise.Components {
		low, sd, high := percent*c.Low, percent*c.SD, percent*c.High
		n := intervalDecimals(low, sd, high)
		t.Rows = append(t.Rows, []string{c.Name, digits(sd, n), span(low, high, n), digits(100*c.Share, 0) + " %"})
	}
	return t
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
	t := Table{Align: "lrrrrl", Head: []string{"alternative", "statistic", "df", "den. df", "p", "verdict survives"}}
	for _, a := range r.Alternatives {
		if a.Message == "" {
			continue
		}
		survives := "no"
		if a.Survives {
			survives = "yes"
		}
		t.Rows = append(t.Rows, []string{a.Name, blank(short(a.Statistic, 4)), blank(short(a.DF1, 4)), blank(short(a.DF2, 4)), blank(chance(a.P)), survives})
	}
	return t
}

// VerdictRows is the table of verdicts as CSV: a row a comparison, numbers with
// all their digits, headed as in the JSON.
func VerdictRows(v *verdict.Verdict) (head []string, rows [][]string) {
	head = []string{"response", "unit", "scale", "factors", "level", "against", "estimate", "se", "df", "t", "p", "p_adjusted", "low", "high",
		"percent", "percent_low", "percent_high", "hedges_g", "hedges_g_low", "hedges_g_high", "verdict", "more_replicates",
		"p_randomisation", "low_randomisation", "high_randomisation"}
	for _, r := range v.Responses {
		for _, c := range r.Comparisons {
			more := ""
			if c.More != nil {
				more = strconv.Itoa(*c.More)
			}
			row := []string{r.Name, r.Unit, string(r.Scale), c.Factors.Term(), c.Level, c.Against}
			for _, n := range []verdict.Number{c.Estimate, c.SE, c.DF, c.T, c.P, c.PAdjusted, c.Low, c.High,
				c.Percent, c.PercentLow, c.PercentHigh, c.G, c.GLow, c.GHigh} {
				row = append(row, full(n))
			}
			row = append(row, string(c.Verdict), more)
			rows = append(rows, append(row, full(c.PRandom), full(c.LowRandom), full(c.HighRandom)))
		}
	}
	return head, rows
}
