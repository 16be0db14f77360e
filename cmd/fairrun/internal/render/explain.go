package render

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

const (
	// mostPairs bounds the comparisons that are listed; of more, the least precise are.
	mostPairs = 60
	// leastPrecise is how many those are.
	leastPrecise = 15
	// widestNeighbours bounds the names of treatments, all together, whose neighbours are counted
	// in a table.
	widestNeighbours = 80
)

// Explain adds how good the order is: how precise each comparison, how each treatment lies in
// the order, who follows whom, what is mixed with what, and what can be found.
func Explain(d *Document, s *sheet.Sheet, e *analysis.Explanation) {
	c := s.Campaign
	precision(d, e)
	if o := &s.Draw.Order; e.Efficiency.Known() && math.Abs(float64(e.Efficiency)-o.Efficiency) > 1e-6 {
		d.Text("On average over all comparisons that the plan makes the efficiency is %s%s; that of %s above is what it would be %s.",
			short(e.Efficiency, 4), withPlots(o), short(verdict.Number(o.Efficiency), 4), judgedAs(c, o))
	}
	found(d, c, e)
	place(d, c, e)
	neighbours(d, s, e)
	if len(e.Confounded) > 0 {
		d.Text("What these runs cannot tell from each other:")
		for _, line := range e.Confounded {
			d.Text("- %s", line)
		}
	}
	adjusted(d, e)
	d.Text("%s %s left to judge noise by. The randomisation test can be made over %s.", words.Degrees(strconv.Itoa(e.DF)), words.Agree(e.DF, "is", "are"), orders(s.Draw.Order.Orders))
}

// adjusted says what the plan's covariates cost.
func adjusted(d *Document, e *analysis.Explanation) {
	if len(e.Covariates) == 0 {
		return
	}
	text := fmt.Sprintf("The comparisons will be adjusted for %s, noted before each run. That costs %s", strings.Join(e.Covariates, ", "), words.Degrees(strconv.Itoa(len(e.Covariates))))
	if e.Widening.Known() {
		text += fmt.Sprintf(" and, where it tells nothing of the response, makes intervals about %s longer", inTerms(e.Widening, true, "", 2))
	}
	d.Text("%s; what it explains of the noise it takes off. The variances above are those without it.", text)
}

// ExplainRows is the precision of each comparison as CSV, variances as multiples of that of one run.
func ExplainRows(e *analysis.Explanation) (head []string, rows [][]string) {
	head = []string{"factors", "level", "against", "variance", "variance_without_drift", "efficiency", "between_whole_plots"}
	for _, f := range e.Families {
		for _, p := range f.Comparisons {
			rows = append(rows, []string{f.Factors.Term(), p.Level, p.Against, full(verdict.Number(p.Variance)), full(verdict.Number(p.WithoutDrift)),
				full(verdict.Number(p.WithoutDrift / p.Variance)), strconv.FormatBool(p.Between)})
		}
	}
	return head, rows
}

// withPlots says that the noise between whole plots is counted.
func withPlots(o *order.Drawn) string {
	if o.Plan.WholePlots == nil {
		return ""
	}
	return ", with the noise between whole plots in it"
}

// place shows how each treatment lies within the blocks.
func place(d *Document, c *design.Plan, e *analysis.Explanation) {
	t := Table{Align: "lrrr", Head: []string{"treatment", "runs", "correlation with order", "with its curve"}}
	drifts := c.Drift.Model != design.DriftNone
	text := fmt.Sprintf("How each treatment lies within the %s: its correlation with the course of the runs, a straight line and a curve that are the same in each %s", c.Block.Plural(), c.Block.Name)
	if drifts {
		t.Align += "r"
		t.Head = append(t.Head, "with the drift")
		text += ", and with all of the drift that the model takes out"
		if c.Drift.Own && c.Drift.Model != design.DriftPosition {
			text += fmt.Sprintf(", of each %s its own", c.Block.Name)
		}
	}
	for _, p := range e.Treatments {
		row := []string{p.Treatment, strconv.Itoa(p.Runs), digits(p.Linear, 3), digits(p.Quadratic, 3)}
		if drifts {
			row = append(row, digits(p.Drift, 3))
		}
		t.Rows = append(t.Rows, row)
	}
	d.Text("%s (0 is free of it, 1 or -1 cannot be distinguished from it):", text)
	d.Table(t)
}

// precision shows the variance of each comparison.
func precision(d *Document, e *analysis.Explanation) {
	type named struct {
		name string
		analysis.ExplainedPair
	}
	var pairs []named
	for _, f := range e.Families {
		of := ""
		if len(e.Families) > 1 {
			of = f.Factors.Term() + ": "
		}
		for _, p := range f.Comparisons {
			pairs = append(pairs, named{of + p.Level + " against " + p.Against, p})
		}
	}
	text := "Variance of each comparison, as a multiple of the variance of one run"
	if len(pairs) > mostPairs {
		slices.SortStableFunc(pairs, func(a, b named) int { return cmp.Compare(b.Variance, a.Variance) })
		text += fmt.Sprintf("; the %d least precise of %d, the most precise has %s", leastPrecise, len(pairs), short(verdict.Number(pairs[len(pairs)-1].Variance), 4))
		pairs = pairs[:leastPrecise]
	}
	t := Table{Align: "lrrr", Head: []string{"comparison", "variance", "without drift", "efficiency"}}
	for _, p := range pairs {
		t.Rows = append(t.Rows, []string{p.name, digits(verdict.Number(p.Variance), 4),
			digits(verdict.Number(p.WithoutDrift), 4), digits(verdict.Number(p.WithoutDrift/p.Variance), 4)})
	}
	if len(pairs) > 0 {
		d.Text("%s:", text)
	}
	d.Table(t)
	for _, f := range e.Families {
		if f.Between > 0 {
			d.Text("%s of %s %s between whole plots. How precise rests on the noise between those; it is given for whole plots that vary as much as runs within one do, which a pilot tells.",
				words.Count(f.Between, "comparison"), f.Factors.Term(), words.Agree(f.Between, "is", "are"))
		}
		if f.Open > 0 {
			d.Text("%s of %s cannot be made in this order.", words.Count(f.Open, "comparison"), f.Factors.Term())
		}
	}
}

// found shows the smallest differences that can be found.
func found(d *Document, c *design.Plan, e *analysis.Explanation) {
	t := Table{Align: "llrrr", Head: []string{"factor", "response", "of the noise", "difference", "margin"}}
	for _, f := range e.Families {
		for _, x := range f.Responses {
			difference, margin := none, none
			if x.Value.Known() {
				difference = inTerms(x.Value, x.Relative, x.Unit, 3)
			}
			if x.Margin != nil {
				margin = inTerms(verdict.Number(x.Margin.Value), x.Margin.Relative, x.Unit, 6)
			}
			t.Rows = append(t.Rows, []string{f.Factors.Term(), x.Name, short(x.InNoise, 3), difference, margin})
		}
	}
	if len(t.Rows) > 0 {
		kept := ""
		if c.Rig != nil && slices.ContainsFunc(c.Responses, func(r design.Response) bool { return !r.Noise.Set }) {
			kept = fmt.Sprintf(", or kept of %s where the plan states none", c.Rig.Name)
		}
		d.Text("Smallest difference found with a chance of %s, by the least precise comparison of each family; as a multiple of the noise, and for the noise assumed%s:",
			inTerms(verdict.Number(c.Analysis.Power), true, "", 4), kept)
	}
	d.Table(t)
}

// inTerms writes a share in per cent, or a number with its unit.
func inTerms(v verdict.Number, relative bool, unit string, figures int) string {
	if relative {
		return short(100*v, figures) + " %"
	}
	return withUnit(short(v, figures), unit)
}

// neighbours shows how often each treatment follows each other.
func neighbours(d *Document, s *sheet.Sheet, e *analysis.Explanation) {
	least, most := -1, 0
	for i, row := range e.Neighbours {
		for j, n := range row {
			if i == j {
				continue
			}
			if most = max(most, n); least < 0 || n < least {
				least = n
			}
		}
	}
	often := fmt.Sprintf("between %d and %d times", least, most)
	if least == most {
		often = words.Count(most, "time")
		if most == 1 {
			often = "once"
		}
	}
	text := fmt.Sprintf("Within the %s each treatment is followed directly by each other %s", s.Campaign.Block.Plural(), often)
	names := e.Treatments
	width := 0
	for _, name := range names {
		width += 2 + utf8.RuneCountInString(name.Treatment)
	}
	if width > widestNeighbours {
		d.Text("%s.", text)
		return
	}
	t := Table{Align: "l" + strings.Repeat("r", len(names)), Head: []string{"after"}}
	for i, name := range names {
		t.Head = append(t.Head, name.Treatment)
		row := []string{name.Treatment}
		for _, n := range e.Neighbours[i] {
			row = append(row, strconv.Itoa(n))
		}
		t.Rows = append(t.Rows, row)
	}
	d.Text("%s:", text)
	d.Table(t)
}
