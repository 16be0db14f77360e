package rehearse

import (
	"fmt"
	"math"
	"strconv"

	"fairrun/design"
)

// sentence says in words how often each order cries wolf, and how often it finds the difference, each with its analysis
// named: sorted and random order as people analyse them, without drift, random order with the drift of the plan in the
// analysis, and the order drawn for it. blocks is what the plan calls blocks.
func (c *Case) sentence(blocks string) string {
	first := map[string]Outcome{}
	for _, o := range c.Outcomes {
		if _, known := first[o.Order]; !known && o.Problem == "" {
			first[o.Order] = o
		}
	}
	drawn := first[Drawn]
	var same *Outcome // random order, analysed as the drawn one is
	for i, o := range c.Outcomes {
		if o.Order == Random && o.Problem == "" && o.Drift.Model == drawn.Drift.Model && (o.Drift.Model != first[Random].Drift.Model || len(o.Adjusted) != len(first[Random].Adjusted)) {
			same = &c.Outcomes[i]
		}
	}
	how := analysed(drawn)
	inEach := func(figure func(Outcome) string) string {
		if same == nil {
			return fmt.Sprintf("in %s of 100 in plain random order, and in %s in an order drawn for this plan (both analysed %s)", figure(first[Random]), figure(drawn), how)
		}
		return fmt.Sprintf("in %s of 100 in plain random order analysed %s, in %s analysed %s, and in %s in an order drawn for this plan and analysed so",
			figure(first[Random]), analysed(first[Random]), figure(*same), how, figure(drawn))
	}
	alarms := func(order string) string { return outOf100(float64(first[order].Alarms.Value)) }
	sorted := ""
	if _, known := first[Sorted]; known {
		sorted = " in " + alarms(Sorted) + " of 100 campaigns in sorted order analysed " + analysed(first[Sorted]) + ","
	}
	text := fmt.Sprintf("When nothing differs, this bench would cry wolf over %s%s %s.",
		c.Response, sorted, inEach(func(o Outcome) string { return outOf100(float64(o.Alarms.Value)) }))
	if c.Difference.Known() {
		text += fmt.Sprintf(" The difference to find would be found %s.", inEach(func(o Outcome) string { return outOf100(float64(o.Differing.Found.Value)) }))
	}
	return text + c.looks(first[Drawn], blocks)
}

// looks says what the looks of a plan bring and cost, in the order drawn for it; "" when there is one.
func (c *Case) looks(o Outcome, blocks string) string {
	l := o.Looks
	if l == nil {
		return ""
	}
	text := fmt.Sprintf(" Looks judged each as the only one would cry wolf in %s of 100.", outOf100(float64(l.Plain.Value)))
	if l.Differing.Value.Known() {
		text += fmt.Sprintf(" When %s differs, %s against %s is settled after %.1f %s on average.", c.Level, c.Level, c.Against, float64(l.Differing.Value), blocks)
	}
	return text
}

// analysed says what an analysis takes out.
func analysed(o Outcome) string {
	text := "without drift"
	switch {
	case o.Drift.Model == design.DriftPosition:
		text = "with positions"
	case o.Drift.Model != design.DriftNone:
		text = "with " + o.Drift.Model + " drift"
	case len(o.Adjusted) > 0:
		return "with covariates"
	}
	if len(o.Adjusted) > 0 {
		text += " and covariates"
	}
	return text
}

// outOf100 rounds a rate to whole campaigns, without making it none or all.
func outOf100(rate float64) string {
	switch {
	case rate > 0 && rate < 0.005:
		return "fewer than 1"
	case rate < 1 && rate >= 0.995:
		return "more than 99"
	}
	return strconv.Itoa(int(math.Round(100 * rate)))
}
