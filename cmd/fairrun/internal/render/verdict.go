package render

import (
	"fmt"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/size"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Standing is what is known beside a verdict's figures of the campaign that they are of. The zero value is that of results
// without a plan.
type Standing struct {
	Plan    *design.Plan                                // nil without one
	In      string                                      // what follows a command to name the campaign's folder: " tank"
	Further func(r *verdict.Response) size.ResponseSize // further blocks as the measured noise asks for them; nil where that is not to be said
}

// mostCompared is how many comparisons a response shows all of.
const mostCompared = 10

// Verdict lays out the answer, a page a response: what is best, a line a comparison, the noise, what to do next, and the checks
// that ask for attention. [FullVerdict] has all tables.
func Verdict(v *verdict.Verdict, st Standing) *Document {
	d := &Document{}
	campaign(d, v)
	same := shared(v)
	if same.runs != "" {
		d.Text("%s", same.runs)
	}
	if same.looks != "" {
		d.Text("%s", same.looks)
	}
	for i := range v.Responses {
		onePage(d, &v.Responses[i], st, same)
	}
	if len(v.Responses) > 1 && (len(same.checks) > 0 || len(same.fine) > 0) {
		d.Heading("All responses")
		attention(d, same.checks, same.fine)
	}
	if todo(v) && st.Plan != nil {
		d.Text("Next: %s", command("record%s", recordIn(st.In)))
	}
	return d
}

// command is a command line, which is not broken.
func command(format string, args ...any) string {
	return strings.ReplaceAll(fmt.Sprintf("fairrun "+format, args...), " ", noBreak)
}

// recordIn turns what names a folder for other commands into what does for record.
func recordIn(in string) string {
	if in == "" {
		return ""
	}
	return " --in" + in
}

// campaign heads a verdict.
func campaign(d *Document, v *verdict.Verdict) {
	if v.Campaign.Title != "" {
		d.Heading("%s", v.Campaign.Title)
	}
	if v.Campaign.Holds != "" {
		d.Text("What follows holds for %s", v.Campaign.Holds)
	} else if v.Campaign.Scope != "" {
		d.Text("What follows holds for: %s.", v.Campaign.Scope)
	}
	if f := v.FalseAlarms; f != nil {
		d.Text("False alarms: %s.", f.Message)
	}
}

// alike is what all responses share, and is said once.
type alike struct {
	runs, looks string          // "" where they differ
	checks      []verdict.Check // that ask for attention
	fine        []string        // names of those that do not
}

// shared finds what all responses share. With a single response that is the count of its runs and its looks.
func shared(v *verdict.Verdict) alike {
	if len(v.Responses) == 0 {
		return alike{}
	}
	first := &v.Responses[0]
	out := alike{runs: runs(first.Runs), looks: lookLine(first)}
	for i := range v.Responses {
		if runs(v.Responses[i].Runs) != out.runs {
			out.runs = ""
		}
		if lookLine(&v.Responses[i]) != out.looks {
			out.looks = ""
		}
	}
	if len(v.Responses) == 1 {
		return out
	}
	for _, c := range first.Checks {
		everywhere := !saysTooFew(c, first)
		for i := range v.Responses {
			everywhere = everywhere && slices.ContainsFunc(v.Responses[i].Checks, func(o verdict.Check) bool {
				return o.Name == c.Name && o.Flag == c.Flag && (!c.Flag || o.Message == c.Message)
			})
		}
		switch {
		case everywhere && c.Flag:
			out.checks = append(out.checks, c)
		case everywhere:
			out.fine = append(out.fine, plainName(c.Name))
		}
	}
	out.fine = unique(out.fine)
	return out
}

// lookLine says which look this is, "" where one was planned.
func lookLine(r *verdict.Response) string {
	if l := r.Looks; l != nil && l.Done > 0 {
		return fmt.Sprintf("Look %.0f of %d: adjusted p is compared with %s.", float64(l.Done), l.Of, short(l.Level, 3))
	}
	return ""
}

// onePage lays out one response.
func onePage(d *Document, r *verdict.Response, st Standing, same alike) {
	d.Heading("%s", title(r))
	if same.runs == "" {
		d.Text("%s", runs(r.Runs))
	}
	if same.looks == "" {
		if line := lookLine(r); line != "" {
			d.Text("%s", line)
		}
	}
	if text := r.Unscaled(); text != "" {
		d.Text("No verdict: %s.", text)
	}
	known := slices.ContainsFunc(r.Comparisons, func(c verdict.Comparison) bool { return c.Low.Known() || c.High.Known() })
	switch {
	case known:
		read, others := toRead(r)
		d.Text("%s", answer(read))
		shown, rest := nearest(read)
		d.Table(lines(read, shown))
		for _, line := range []string{rest, others} {
			if line != "" {
				d.Text("%s", line)
			}
		}
	case r.Unscaled() == "" && r.Runs.Todo > 0:
		d.Text("%d of %d runs: too few to compare anything yet.", r.Runs.OK+r.Runs.Failed, r.Runs.OK+r.Runs.Failed+r.Runs.Todo)
	}
	if line := variance(r); known && line != "" {
		d.Text("%s", line)
	}
	if line := noiseLine(r, st.Plan); line != "" {
		d.Text("%s", line)
	}
	if known {
		if line := nextStep(r, st); line != "" {
			d.Text("%s", line)
		}
	}
	var ask []verdict.Check
	var fine []string
	for _, c := range r.Checks {
		switch {
		case !known && saysTooFew(c, r):
		case c.Flag && c.Message != r.Unscaled() && !slices.ContainsFunc(same.checks, func(o verdict.Check) bool { return o.Name == c.Name && o.Message == c.Message }):
			ask = append(ask, c)
		case !c.Flag && !slices.Contains(same.fine, plainName(c.Name)):
			fine = append(fine, plainName(c.Name))
		}
	}
	attention(d, ask, unique(fine))
}

// mostAttention is how many checks that ask for attention are said in full.
const mostAttention = 4

// attention lists checks that ask for it, and names the others.
func attention(d *Document, ask []verdict.Check, fine []string) {
	for i, c := range ask {
		lead := "Worth a look: "
		if i > 0 {
			lead = "- "
		}
		if i == mostAttention && len(ask) > mostAttention+1 {
			d.Text("- %d more: --full", len(ask)-i)
			break
		}
		d.Text("%s%s: %s.", lead, c.Name, strings.TrimSuffix(c.Message, "."))
	}
	if len(fine) > 0 {
		d.Text("In order: %s (--full says more).", words.And(fine))
	}
}

// saysTooFew says whether a check does no more than say that runs are missing, in a campaign that has some still to do.
func saysTooFew(c verdict.Check, r *verdict.Response) bool {
	return r.Runs.Todo > 0 && slices.Contains([]string{"empty level", "adjusted mean", "comparison", "residual degrees of freedom"}, c.Name)
}

// plainName is the name of a check without that of its test.
func plainName(name string) string {
	plain, _, _ := strings.Cut(name, " (")
	return plain
}

// unique leaves out names that were there before.
func unique(names []string) []string {
	var out []string
	for _, n := range names {
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// variance is the analysis of variance in one line: the terms of the treatments.
func variance(r *verdict.Response) string {
	var parts []string
	for _, a := range r.ANOVA {
		if !slices.Contains(r.Model.Treatments, a.Term) || !a.F.Known() {
			continue
		}
		text := fmt.Sprintf("F(%s,"+noBreak+"%s) = %s, p %s", dfs(a.DF), dfs(a.DenDF), short(a.F, 3), equals(chance(a.P)))
		if !a.DenDF.Known() {
			text = fmt.Sprintf("F = %s, p %s", short(a.F, 3), equals(chance(a.P)))
		}
		if a.Eta2.Known() {
			text += ", partial eta² " + digits(a.Eta2, 2)
		}
		parts = append(parts, a.Term+": "+text)
	}
	const most = 4
	if len(parts) > most {
		parts = append(parts[:most], fmt.Sprintf("%d more terms: --full", len(parts)-most))
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, "; ") + "."
}

// noiseLine says how large the noise is, and how large the plan took it to be.
func noiseLine(r *verdict.Response, plan *design.Plan) string {
	n := r.Noise
	if !n.SD.Known() {
		return ""
	}
	sd, low, high, unit := n.SD, n.Low, n.High, r.Unit
	if r.Scale == verdict.Log {
		sd, low, high, unit = 100*sd, 100*low, 100*high, "%"
	}
	figures := intervalDecimals(low, sd, high)
	text := fmt.Sprintf("Noise from run to run: %s (%s to %s)", withUnit(digits(sd, figures), unit), digits(low, figures), digits(high, figures))
	if planned, ok := plannedNoise(r, plan); ok {
		text += ", planned " + withUnit(short(planned, 4), unit)
		switch {
		case planned < low:
			text += ": more than planned"
		case planned > high:
			text += ": less than planned"
		}
	}
	return text + "."
}

// plannedNoise is the noise that the plan assumes, in the terms that the measured one is shown in; false where it has none, or in
// other terms.
func plannedNoise(r *verdict.Response, plan *design.Plan) (verdict.Number, bool) {
	if plan == nil {
		return 0, false
	}
	for _, p := range plan.Responses {
		if p.Name != r.Name || !p.Noise.Set || p.Noise.Relative != (r.Scale == verdict.Log) {
			continue
		}
		if p.Noise.Relative {
			return verdict.Number(100 * p.Noise.Value), true
		}
		return verdict.Number(p.Noise.Value), true
	}
	return 0, false
}

// todo says whether runs are still to do.
func todo(v *verdict.Verdict) bool {
	return slices.ContainsFunc(v.Responses, func(r verdict.Response) bool { return r.Runs.Todo > 0 })
}
