package rehearse

import (
	"fmt"
	"math"
	"strconv"
)

// sentence says in words how often each order cries wolf, and how often it finds the difference. Sorted and
// random order are taken as people analyse them, without drift. blocks is what the plan calls blocks.
func (c *Case) sentence(blocks string) string {
	first := map[string]Outcome{}
	for _, o := range c.Orders {
		if _, known := first[o.Order]; !known && o.Problem == "" {
			first[o.Order] = o
		}
	}
	alarms := func(order string) string { return outOf100(float64(first[order].Alarms.Value)) }
	sorted := ""
	if _, known := first[Sorted]; known {
		sorted = alarms(Sorted) + " of 100 campaigns in sorted order, in "
	}
	text := fmt.Sprintf("When nothing differs, this bench would cry wolf over %s in %s%s of 100 in plain random order, and in %s in an order drawn for this plan.",
		c.Response, sorted, alarms(Random), alarms(Drawn))
	if c.Difference.Known() {
		found := func(order string) string { return outOf100(float64(first[order].Differing.Found.Value)) }
		text += fmt.Sprintf(" The difference to find would be found in %s of 100 in plain random order, and in %s in an order drawn for this plan.", found(Random), found(Drawn))
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
