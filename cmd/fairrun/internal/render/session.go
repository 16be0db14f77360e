package render

import (
	"fmt"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/design/cost"
	"fairrun/design/sheet"
	"fairrun/stats/words"
)

// sessions says how many sessions there are, what each holds and how long it lasts, for the very order
// that was drawn; "" where the plan has none.
func sessions(s *sheet.Sheet) string {
	c := s.Campaign
	all := analysis.Sessions(s)
	if len(all) == 0 {
		return ""
	}
	n, last := len(all), all[len(all)-1]
	text := fmt.Sprintf("%s of %s", c.Session.Many(n), c.Block.Many(all[0].Blocks))
	if n > 1 {
		text += " each"
		if last.Blocks < all[0].Blocks {
			text += fmt.Sprintf(", the last of %s", c.Block.Many(last.Blocks))
		}
	}
	times := cost.SessionTimes(c, s.Draw.Order.Blocks)
	var longest time.Duration
	for _, t := range times {
		longest = max(longest, t)
	}
	if longest == 0 {
		return text + "."
	}
	if n > 1 {
		text += fmt.Sprintf("; the longest %s takes", c.Session.Name)
	} else {
		text += ", which takes"
	}
	return text + " about " + hours(longest) + allowed(longest, c.Session.Hours) + "."
}

// allowed holds the time that a drawn order takes against the longest that the plan allows; "" where that
// is 0, no limit. Plans that take longer in expectation are refused, so that it is the changes of
// settings of this very order.
func allowed(takes, limit time.Duration) string {
	switch {
	case limit == 0:
		return ""
	case takes > limit:
		return fmt.Sprintf(" (more than the %s that the plan allows: this order changes settings often, and another seed may do better)", hours(limit))
	}
	return fmt.Sprintf(" of the %s that the plan allows", hours(limit))
}

// items says on what the blocks run; "" where that is nothing in particular.
func items(c *design.Plan) string {
	if c.Items == nil {
		return ""
	}
	text := fmt.Sprintf("The %s run on %s (%s) in turn", c.Block.Plural(), c.Items.Many(len(c.Items.Labels)), strings.Join(c.Items.Labels, ", "))
	if c.Session != nil && c.Session.Blocks > 1 {
		text += fmt.Sprintf(", another one first in each %s", c.Session.Name)
	}
	return text + fmt.Sprintf(": the column %s says which.", c.Items.Name)
}

// inSessions says how often each treatment is run in a session of incomplete blocks; "" where there are
// none.
func inSessions(s *sheet.Sheet) string {
	c, p := s.Campaign, s.Draw.Order.Plan
	if c.Session == nil || p.Session == 0 {
		return ""
	}
	least, most := p.PerSession(s.Draw.Order.Blocks)
	often := words.Times(most)
	switch {
	case least == most:
		return fmt.Sprintf(" In each full %s every treatment is run %s.", c.Session.Name, often)
	case least == 0:
		return fmt.Sprintf(" In each full %s no treatment is run more than %s.", c.Session.Name, often)
	}
	return fmt.Sprintf(" In each full %s every treatment is run %s to %s.", c.Session.Name, words.Times(least), often)
}

// sessionName is "day 2 of 4".
func sessionName(c *design.Plan, session, blocks int) string {
	return fmt.Sprintf("%s %d of %d", c.Session.Name, session, c.Session.Count(blocks))
}
