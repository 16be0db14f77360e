package cost

import (
	"fairrun/design"
	"fmt"
	"time"
)

// ShorterSession says which sessions, or else which blocks, would fit their hours; byRuns as for Block.written.
func ShorterSession(c *design.Plan, byRuns bool) string {
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
	one, ok := fit(paceOf(c), min(c.Session.Blocks, c.Block.Count))
	if ok {
		return fmt.Sprintf("write blocks = %d: %s of about %s", session.Blocks, session.Many(session.Count(c.Block.Count)), UpMinutes(one))
	}
	for smaller(&d) {
		if _, ok := fit(paceOf(&d), c.Session.Blocks); !ok {
			continue
		}
		least, ok := LeastBlocks(&d)
		if !ok {
			break
		}
		each := d.RunsPerBlock()
		d.Block.Count = max(least, (c.Runs()+each-1)/each)
		return fmt.Sprintf("write %s and count = %d in [block], and blocks = %d here: %s", Written(d.Block, byRuns), d.Block.Count, session.Blocks, session.Many(session.Count(d.Block.Count)))
	}
	return fmt.Sprintf("1 %s takes about %s: allow that, or shorten the run or the rest", c.Block.Name, UpMinutes(one))
}

// ShorterCampaign says how many blocks, or else which replicates, would fit the campaign's hours; byRuns as for Block.written.
func ShorterCampaign(c *design.Plan, byRuns bool) string {
	d, p := *c, paceOf(c)
	least := max(1, c.Analysis.Looks)
	if c.Specimens != nil {
		least = max(least, c.Specimens.Count)
	}
	if c.Items != nil {
		least = max(least, len(c.Items.Labels))
	}
	if c.HardFactors() != nil {
		least = max(least, 2)
	}
	last := Of(c).Time
	for d.Block.Count = c.Block.Count - 1; d.Block.Count >= least && Enough(&d); d.Block.Count-- {
		if last, _ = p.takes(c.Session, d.Block.Count); last <= c.Budget.Hours {
			return fmt.Sprintf("write count = %d: about %s", d.Block.Count, UpMinutes(last))
		}
	}
	d = *c
	for d.Block.Replicates > 1 {
		if d.Block.Replicates--; !Enough(&d) {
			break
		}
		if took := Of(&d).Time; took <= c.Budget.Hours {
			return fmt.Sprintf("write %s: about %s", Written(d.Block, byRuns), UpMinutes(took))
		}
	}
	return fmt.Sprintf("the fewest %s that answer the plan's question take about %s: allow that, shorten the run or the rest, or take treatments out", c.Block.Plural(), UpMinutes(last))
}

// smaller takes a run of each treatment out of the blocks, or in the end a run; it reports false when
// nothing is left to take out, or the plan asks for complete blocks.
func smaller(c *design.Plan) bool {
	t := c.CountTreatments()
	switch {
	case c.Block.Replicates > 1:
		c.Block.Replicates--
	case c.Order.CarryOver || c.HardFactors() != nil || c.Order.Fixed() > 0 || c.Block.Runs == 2 || c.Block.Replicates == 1 && t == 2:
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

// Written is size for a person whose plan has replicates, or byRuns runs.
func Written(b design.Block, byRuns bool) string {
	if byRuns && b.Runs == 0 {
		return b.Size() + " in place of runs"
	}
	return b.Size()
}

// UpMinutes says a time in hours and minutes, rounded up.
func UpMinutes(d time.Duration) string {
	return design.TimeText((d + time.Minute - 1).Truncate(time.Minute))
}
