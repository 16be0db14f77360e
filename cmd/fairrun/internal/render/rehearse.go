package render

import (
	"fmt"

	"fairrun/design/rehearse"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Rehearsal says how a plan fared on the simulated bench: a sentence a response, and of each order how often it raises a false
// alarm and how often it finds the difference. [FullRehearsal] has every rate.
func Rehearsal(r *rehearse.Rehearsal) *Document {
	d := &Document{}
	d.Heading("%s", r.Campaign.Title)
	d.Text("%s of %s in each order on a simulated bench, judged %s.", words.Count(r.Campaigns, "campaign"), words.Count(r.Runs, "run"), lookWords(r))
	if !r.Bench.Stated {
		d.Text("The plan states no bench of its own: add [simulation] to rehearse on yours (--full shows the one assumed).")
	}
	if len(r.Cases) == 0 {
		d.Text("Nothing to rehearse: the verdict compares no levels of this plan.")
	}
	for i := range r.Cases {
		c := &r.Cases[i]
		d.Heading("%s", caseTitle(r, c))
		d.Text("%s", c.Sentence)
		found := "found"
		if c.Difference.Known() {
			found = inCase(c)(c.Difference) + " found"
		}
		t := Table{Align: "llrr", Head: []string{"order", "analysed", "false alarms", found}}
		for _, o := range c.Outcomes {
			if o.Problem != "" {
				d.Text("No figures for %s order analysed %s: %s.", o.Order, analysedWords(o), o.Problem)
				continue
			}
			row := []string{o.Order, analysedWords(o), rateWords(o.Alarms), none}
			if o.Differing != nil {
				row[3] = rateWords(o.Differing.Found)
			}
			t.Rows = append(t.Rows, row)
		}
		d.Table(t)
	}
	return d
}

// rateWords writes a rate in per cent with its error.
func rateWords(r rehearse.Rate) string {
	if text := percentRate(r); text != none {
		return text + noBreak + "%"
	}
	return none
}

// inCase writes a difference in the terms of the margin.
func inCase(c *rehearse.Case) func(verdict.Number) string {
	return func(n verdict.Number) string { return inTerms(n, c.Relative, c.Unit, 3) }
}

// caseTitle says what is rehearsed.
func caseTitle(r *rehearse.Rehearsal, c *rehearse.Case) string {
	title := c.Response
	if len(r.Cases) > 1 && c.Factors.Term() != r.Cases[0].Factors.Term() {
		title += ", " + c.Factors.Term()
	}
	if c.Margin != nil {
		title += ": margin " + inCase(c)(verdict.Number(c.Margin.Value)) + ","
	} else {
		title += ":"
	}
	return fmt.Sprintf("%s noise %s", title, inCase(c)(verdict.Number(c.Noise)))
}
