package render

import (
	"fmt"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/rehearse"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// FullRehearsal lays out how a plan fared on the simulated bench, with every rate.
func FullRehearsal(r *rehearse.Rehearsal) *Document {
	d := &Document{}
	d.Heading("%s", r.Campaign.Title)
	d.Text("%s of %s in each order, judged as the verdict judges them, %s. ± is the standard error of the simulation.", words.Count(r.Campaigns, "simulated campaign"), words.Count(r.Runs, "run"), lookWords(r))
	d.Text("%s", benchWords(r.Bench))
	if len(r.Covariates) > 0 {
		d.Text("Analysed with covariates: adjusted for %s, as noted before each run.", strings.Join(r.Covariates, ", "))
	}
	if len(r.Unrelated) > 0 {
		d.Text("The bench knows nothing of %s: here it is noise that has to do with nothing else, so that adjusting for it shows what it costs and never what it gains.", strings.Join(r.Unrelated, ", "))
	}
	if len(r.Cases) == 0 {
		d.Text("Nothing to rehearse: the verdict compares no levels of this plan.")
	}
	for i := range r.Cases {
		rehearsed(d, r, &r.Cases[i])
	}
	return d
}

// lookWords says when campaigns are judged.
func lookWords(r *rehearse.Rehearsal) string {
	if r.Looks == nil {
		return "once, when all is done"
	}
	return fmt.Sprintf("at each of %d looks, when %s of %s are complete, until nothing is left open",
		r.Looks.Of, words.And(words.Numbers(r.Looks.Blocks)), words.CountOf(r.Looks.Blocks[r.Looks.Of-1], r.Block, r.Blocks))
}

// benchWords says what bench was simulated.
func benchWords(b rehearse.Assumed) string {
	p := func(share float64) string { return short(verdict.Number(100*share), 3) + " %" }
	n := func(x float64) string { return short(verdict.Number(x), 3) }
	s := func(seconds float64) string {
		return spoken(time.Duration(seconds * float64(time.Second)).Round(time.Millisecond))
	}
	text := fmt.Sprintf("The bench: a winding that would settle %s K above %s °C, with a time constant of %s; runs of %s, rests of %s, swaps of %s; "+
		"packs that lose %s of their voltage from full to empty and %s under load, differ by %s, and give %s of their charge to a block; %s of runs fail, and %s stray by %s times the noise.",
		n(b.Heat), n(b.Ambient), s(b.WarmUp), s(b.Run), s(b.Rest), s(b.Swap), p(b.Sag), p(b.Drop), p(b.PackScatter), p(b.Used), p(b.Failures), p(b.Outliers), n(b.OutlierSize))
	if b.Specimens > 1 {
		text += fmt.Sprintf(" The %d specimens answer differently to each level, by %s of the noise (standard deviation); what is rehearsed is the verdict on their type.", b.Specimens, p(b.Interplay))
	}
	if !b.Stated {
		text += " The plan states no bench of its own: add [simulation] to rehearse on yours."
	}
	return text
}

// rehearsed lays out one family of comparisons of one response.
func rehearsed(d *Document, r *rehearse.Rehearsal, c *rehearse.Case) {
	say := inCase(c)
	d.Heading("%s", caseTitle(r, c))
	d.Text("%s", c.Sentence)
	against := c.Against
	if r.Compare == string(verdict.Best) {
		against = "the best other"
	}
	pair := fmt.Sprintf("%s against %s", c.Level, against)
	figures := Table{Align: "llrrrr", Keys: 2, Head: []string{"order", "analysed", "false alarms", "found", "bias", "covered"}}
	nothing := Table{Align: "llrrrrr", Keys: 2, Head: append([]string{"order", "analysed"}, wordHeads...)}
	differs := Table{Align: nothing.Align, Keys: 2, Head: nothing.Head}
	looks := Table{Tight: true, Align: "llrrrr", Keys: 2, Head: []string{"order", "analysed", "false alarms", "at " + inTerms(verdict.Number(r.Alpha), true, "", 4) + " a look", "if nothing differs", "if " + c.Level + " differs"}}
	for _, o := range c.Outcomes {
		label := []string{o.Order, analysedWords(o)}
		if o.Problem != "" {
			d.Text("No figures for %s order analysed %s: %s.", o.Order, label[1], o.Problem)
			continue
		}
		found, bias, covered := none, none, none
		if f := o.Differing; f != nil {
			found, covered = percentRate(f.Found), percentRate(f.Coverage)
			if bias = withUnit(plusMinus(f.Bias, 1, 9), c.Unit); c.Relative {
				bias = plusMinus(f.Bias, 100, 9) + " %"
			}
			differs.Rows = append(differs.Rows, append(label[:2:2], wordCells(f.WordRates)...))
		}
		figures.Rows = append(figures.Rows, append(label[:2:2], percentRate(o.Alarms), found, bias, covered))
		nothing.Rows = append(nothing.Rows, append(label[:2:2], wordCells(o.Nothing)...))
		if l := o.Looks; l != nil {
			looks.Rows = append(looks.Rows, append(label[:2:2], percentRate(o.Alarms), percentRate(l.Plain), plusMinus(l.Nothing, 1, 3), plusMinus(l.Differing, 1, 3)))
		}
	}
	text := "Per cent of campaigns: false alarms in the family when nothing differs"
	if c.Difference.Known() {
		text += fmt.Sprintf("; when %s differs from all others by %s, how often %s is found, the bias of its estimate, and how often its interval covers the truth", c.Level, say(c.Difference), pair)
	} else {
		text += "; no margin is stated, so there is no difference to find"
	}
	d.Text("%s.", text)
	d.Table(figures)
	for _, o := range c.Outcomes {
		if f := o.Differing; f != nil && f.Without.Value > 0 {
			d.Text("No interval could be given in %s %% of campaigns in %s order analysed %s: these do not count in \"covered\".", percentRate(f.Without), o.Order, analysedWords(o))
		}
	}
	if len(looks.Rows) > 0 {
		d.Text("Looks: per cent of campaigns with a false alarm at any look, at the level planned and if each look were judged as the only one; and how many of %s it takes on average until %s is settled, all of them where it never is.",
			words.CountOf(r.Looks.Blocks[r.Looks.Of-1], r.Block, r.Blocks), pair)
		d.Table(looks)
	}
	d.Text("Verdicts on %s when nothing differs, per cent:", pair)
	d.Table(nothing)
	if c.Difference.Known() {
		d.Text("Verdicts on %s when %s differs by %s, per cent:", pair, c.Level, say(c.Difference))
		d.Table(differs)
	}
}

var wordHeads = []string{"matters", "real", "trivial", "equal", "unresolved"}

// driftWords says what drift an analysis takes out.
func driftWords(model string) string {
	switch model {
	case "none":
		return "without drift"
	case "position":
		return "with positions"
	}
	return "with " + model + " drift"
}

// analysedWords says what an analysis takes out.
func analysedWords(o rehearse.Outcome) string {
	switch {
	case len(o.Adjusted) == 0:
		return driftWords(o.Drift.Model)
	case o.Drift.Model == design.DriftNone:
		return "with covariates"
	}
	return driftWords(o.Drift.Model) + ", covariates"
}

func wordCells(w rehearse.WordRates) []string {
	return []string{percentRate(w.Matters), percentRate(w.Real), percentRate(w.Trivial), percentRate(w.Equal), percentRate(w.Unresolved)}
}

// percentRate writes a rate in per cent.
func percentRate(r rehearse.Rate) string { return plusMinus(r, 100, 2) }

// plusMinus writes a figure, times a factor, and its error to one figure, with so many decimals at most.
func plusMinus(r rehearse.Rate, factor verdict.Number, most int) string {
	if !r.Value.Known() {
		return none
	}
	places := min(most, max(0, decimals(r.SE*factor)-1))
	return digits(r.Value*factor, places) + " ±" + digits(r.SE*factor, places)
}

// RehearsalRows is all figures as CSV, one a row.
func RehearsalRows(r *rehearse.Rehearsal) (head []string, rows [][]string) {
	head = []string{"response", "factors", "level", "against", "order", "drift", "truth", "figure", "value", "se"}
	for i := range r.Cases {
		c := &r.Cases[i]
		for _, o := range c.Outcomes {
			add := func(truth, figure string, rate rehearse.Rate) {
				rows = append(rows, []string{c.Response, c.Factors.Term(), c.Level, c.Against, o.Order, o.Drift.Model, truth, figure, full(rate.Value), full(rate.SE)})
			}
			addWords := func(truth string, w rehearse.WordRates) {
				add(truth, "matters", w.Matters)
				add(truth, "real", w.Real)
				add(truth, "trivial", w.Trivial)
				add(truth, "equal", w.Equal)
				add(truth, "unresolved", w.Unresolved)
			}
			add("nothing", "false_alarms", o.Alarms)
			addWords("nothing", o.Nothing)
			if l := o.Looks; l != nil {
				add("nothing", "plain_false_alarms", l.Plain)
				add("nothing", "blocks", l.Nothing)
			}
			if f := o.Differing; f != nil {
				add("differing", "found", f.Found)
				addWords("differing", f.WordRates)
				add("differing", "bias", f.Bias)
				add("differing", "coverage", f.Coverage)
				add("differing", "no_interval", f.Without)
				if l := o.Looks; l != nil {
					add("differing", "blocks", l.Differing)
				}
			}
		}
	}
	return head, rows
}
