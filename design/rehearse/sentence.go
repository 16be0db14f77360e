package rehearse

import (
	"fmt"
	"math"
	"strconv"
)

// sentence says in words how often each order cries wolf. Sorted and random order are taken as
// people analyse them, without drift.
func (c *Case) sentence() string {
	alarms := map[string]float64{}
	for _, o := range c.Orders {
		if _, known := alarms[o.Order]; !known && o.Problem == "" {
			alarms[o.Order] = float64(o.Alarms.Value)
		}
	}
	return fmt.Sprintf("When nothing differs, this bench would cry wolf over %s in %s of 100 campaigns in sorted order, in %s in plain random order, and in %s in an order drawn for this plan.",
		c.Response, outOf100(alarms[Sorted]), outOf100(alarms[Random]), outOf100(alarms[Drawn]))
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
