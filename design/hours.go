package design

import (
	"fmt"
	"strings"
	"time"

	"fairrun/stats/words"
)

// hours checks the plan against the longest that a session and the campaign may take, in a plan that
// could be carried out otherwise. What it says to do instead is the largest plan of the kind that fits.
func (r *planReader) hours(c *Plan, session, budget *table, byRuns bool) {
	if c.Session != nil && c.Session.Hours > 0 {
		at := session.byKey["hours"].value.at
		switch {
		case budget == nil:
			r.add(at, fmt.Sprintf("hours limits a %s, but nothing says how long a run takes", c.Session.Name), `add [budget], with run = "40 s" and rest = "3 min"`)
		case c.Cost().Longest > c.Session.Hours:
			r.add(at, fmt.Sprintf("a %s of %s takes about %s, and hours allows %s", c.Session.Name, c.Block.many(min(c.Session.Blocks, c.Block.Count)), upMinutes(c.Cost().Longest), timeText(c.Session.Hours)),
				c.shorterSession(byRuns))
		}
	}
	if c.Budget != nil && c.Budget.Hours > 0 && c.Cost().Time > c.Budget.Hours {
		r.add(budget.byKey["hours"].value.at, fmt.Sprintf("%s of %s take about %s, and hours allows %s", c.Block.many(c.Block.Count), words.Count(c.RunsPerBlock(), "run"), upMinutes(c.Cost().Time), timeText(c.Budget.Hours)),
			c.shorterCampaign(byRuns))
	}
}

// shorterSession says which sessions, or else which blocks, would fit their hours; byRuns as for Block.written.
func (c *Plan) shorterSession(byRuns bool) string {
	d, session := *c, *c.Session
	d.Session = &session
	// fit makes sessions as long as fits, of at most so many blocks; false if none does.
	fit := func(p pace, most int) (longest time.Duration, ok bool) {
		for session.Blocks = most; session.Blocks > 0; session.Blocks-- {
			if _, longest = p.takes(&session, session.Blocks); longest <= session.Hours {
				return longest, true
			}
		}
		return longest, false
	}
	one, ok := fit(c.pace(), min(c.Session.Blocks, c.Block.Count))
	if ok {
		return fmt.Sprintf("write blocks = %d: %s of about %s", session.Blocks, session.Many(session.Count(c.Block.Count)), upMinutes(one))
	}
	for d.smaller() {
		if _, ok := fit(d.pace(), c.Session.Blocks); !ok {
			continue
		}
		least, ok := d.leastBlocks()
		if !ok {
			break
		}
		each := d.RunsPerBlock()
		d.Block.Count = max(least, (c.Runs()+each-1)/each)
		return fmt.Sprintf("write %s and count = %d in [block], and blocks = %d here: %s", d.Block.written(byRuns), d.Block.Count, session.Blocks, session.Many(session.Count(d.Block.Count)))
	}
	return fmt.Sprintf("1 %s takes about %s: allow that, or shorten the run or the rest", c.Block.Name, upMinutes(one))
}

// shorterCampaign says how many blocks, or else which replicates, would fit the campaign's hours; byRuns as for Block.written.
func (c *Plan) shorterCampaign(byRuns bool) string {
	d, p := *c, c.pace()
	least := max(1, c.Analysis.Looks)
	if c.Units != nil {
		least = max(least, c.Units.Count)
	}
	if c.Items != nil {
		least = max(least, len(c.Items.Labels))
	}
	if c.hardFactors() != nil {
		least = max(least, 2)
	}
	last := c.Cost().Time
	for d.Block.Count = c.Block.Count - 1; d.Block.Count >= least && d.enough(); d.Block.Count-- {
		if last, _ = p.takes(c.Session, d.Block.Count); last <= c.Budget.Hours {
			return fmt.Sprintf("write count = %d: about %s", d.Block.Count, upMinutes(last))
		}
	}
	d = *c
	for d.Block.Replicates > 1 {
		if d.Block.Replicates--; !d.enough() {
			break
		}
		if took := d.Cost().Time; took <= c.Budget.Hours {
			return fmt.Sprintf("write %s: about %s", d.Block.written(byRuns), upMinutes(took))
		}
	}
	return fmt.Sprintf("the fewest %s that answer the plan's question take about %s: allow that, shorten the run or the rest, or take treatments out", c.Block.Plural(), upMinutes(last))
}

// smaller takes a run of each treatment out of the blocks, or in the end a run; it reports false when
// nothing is left to take out, or the plan asks for complete blocks.
func (c *Plan) smaller() bool {
	t := c.countTreatments()
	switch {
	case c.Block.Replicates > 1:
		c.Block.Replicates--
	case c.Order.CarryOver || c.hardFactors() != nil || c.Order.fixed() > 0 || c.Block.Runs == 2 || c.Block.Replicates == 1 && t == 2:
		return false
	case c.Block.Replicates == 1:
		c.Block.Replicates, c.Block.Runs = 0, t-1
	default:
		c.Block.Runs--
		if c.Block.Runs%t == 0 {
			c.Block.Replicates, c.Block.Runs = c.Block.Runs/t, 0
		}
	}
	return true
}

// written is size for a person whose plan has replicates, or byRuns runs.
func (b Block) written(byRuns bool) string {
	if byRuns && b.Runs == 0 {
		return b.size() + " in place of runs"
	}
	return b.size()
}

// size is what a plan writes to say how long its blocks are.
func (b Block) size() string {
	if b.Runs > 0 {
		return fmt.Sprintf("runs = %d", b.Runs)
	}
	return fmt.Sprintf("replicates = %d", b.Replicates)
}

// upMinutes says a time in hours and minutes, rounded up.
func upMinutes(d time.Duration) string {
	return timeText((d + time.Minute - 1).Truncate(time.Minute))
}

// timeText writes a time as a plan does: "1 h 30 min", "40 s".
func timeText(d time.Duration) string {
	var parts []string
	for _, u := range []struct {
		name string
		size time.Duration
	}{{"h", time.Hour}, {"min", time.Minute}} {
		if n := d / u.size; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, u.name))
			d -= n * u.size
		}
	}
	if d > 0 || parts == nil {
		parts = append(parts, plainTime(d))
	}
	return strings.Join(parts, " ")
}
