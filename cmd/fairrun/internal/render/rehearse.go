package render

import (
	"fmt"
	"time"

	"fairrun/design/rehearse"
	"fairrun/stats/verdict"
)

// Rehearsal lays out how a plan fared on the simulated bench.
func Rehearsal(r *rehearse.Rehearsal) *Document {
	d := &Document{}
	d.Heading("%s", r.Campaign.Title)
	d.Text("%d simulated campaigns of %d runs in each order, judged as the verdict judges them, once, when all is done. ± is the standard error of the simulation.", r.Campaigns, r.Runs)
	d.Text("%s", benchWords(r.Bench))
	if len(r.Cases) == 0 {
		d.Text("Nothing to rehearse: the verdict compares no levels of this plan.")
	}
	for i := range r.Cases {
		rehearsed(d, r, &r.Cases[i])
	}
	return d
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
		n(b.Heat), n(b.Ambient), s(b.WarmUp), s(b.Run), s(b.Rest), s(b.Swap), p(b.Sag), p(b.Drop), p(b.Spread), p(b.Used), p(b.Failures), p(b.Outliers), n(b.OutlierSize))
	if !b.Stated {
		text += " The plan states no bench of its own: add [simulation] to rehearse on yours."
	}
	return text
}

// rehearsed lays out one family of comparisons of one response.
func rehearsed(d *Document, r *rehearse.Rehearsal, c *rehearse.Case) {
	say := func(n verdict.Number) string { return withUnit(short(n, 3), c.Unit) }
	if c.Relative {
		say = func(n verdict.Number) string { return short(100*n, 3) + " %" }
	}
	title := c.Response
	if len(r.Cases) > 1 && c.Factor != r.Cases[0].Factor {
		title += ", " + c.Factor
	}
	if c.Margin != nil {
		title += ": margin " + say(verdict.Number(c.Margin.Value)) + ","
	} else {
		title += ":"
	}
	d.Heading("%s noise %s", title, say(verdict.Number(c.Noise)))
	d.Text("%s", c.Sentence)
	against := c.Against
	if r.Compare == string(verdict.Best) {
		against = "the best other"
	}
	pair := fmt.Sprintf("%s against %s", c.Level, against)
	figures := Table{Align: "llrrrr", Head: []string{"order", "analysed", "false alarms", "found", "bias", "covered"}}
	nothing := Table{Align: "llrrrrr", Head: append([]string{"order", "analysed"}, wordHeads...)}
	differs := Table{Align: nothing.Align, Head: nothing.Head}
	for _, o := range c.Orders {
		label := []string{o.Order, driftWords(o.Drift)}
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
			differs.Rows = append(differs.Rows, append(label[:2:2], wordCells(f.Words)...))
		}
		figures.Rows = append(figures.Rows, append(label[:2:2], percentRate(o.Alarms), found, bias, covered))
		nothing.Rows = append(nothing.Rows, append(label[:2:2], wordCells(o.Nothing)...))
	}
	text := "Per cent of campaigns: false alarms in the family when nothing differs"
	if c.Difference.Known() {
		text += fmt.Sprintf("; when %s differs from all others by %s, how often %s is found, the bias of its estimate, and how often its interval covers the truth", c.Level, say(c.Difference), pair)
	} else {
		text += "; no margin is stated, so there is no difference to find"
	}
	d.Text("%s.", text)
	d.Table(figures)
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

func wordCells(w rehearse.Words) []string {
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
	head = []string{"response", "factor", "level", "against", "order", "drift", "truth", "figure", "value", "se"}
	for i := range r.Cases {
		c := &r.Cases[i]
		for _, o := range c.Orders {
			add := func(truth, figure string, rate rehearse.Rate) {
				rows = append(rows, []string{c.Response, c.Factor, c.Level, c.Against, o.Order, o.Drift, truth, figure, full(rate.Value), full(rate.SE)})
			}
			addWords := func(truth string, w rehearse.Words) {
				add(truth, "matters", w.Matters)
				add(truth, "real", w.Real)
				add(truth, "trivial", w.Trivial)
				add(truth, "equal", w.Equal)
				add(truth, "unresolved", w.Unresolved)
			}
			add("nothing", "false_alarms", o.Alarms)
			addWords("nothing", o.Nothing)
			if f := o.Differing; f != nil {
				add("differing", "found", f.Found)
				addWords("differing", f.Words)
				add("differing", "bias", f.Bias)
				add("differing", "coverage", f.Coverage)
			}
		}
	}
	return head, rows
}
