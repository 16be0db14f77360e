package plan

import (
	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/stats/words"
	"fmt"
)

// hours checks the plan against the longest that a session and the campaign may take, in a plan that
// could be carried out otherwise. What it says to do instead is the largest plan of the kind that fits.
func (r *planReader) hours(c *design.Plan, session, budget *table, byRuns bool) {
	if c.Session != nil && c.Session.Hours > 0 {
		at := session.byKey["hours"].value.at
		switch {
		case budget == nil:
			r.add(at, fmt.Sprintf("hours limits a %s, but nothing says how long a run takes", c.Session.Name), `add [budget], with run = "40 s" and rest = "3 min"`)
		case cost.Of(c).Longest > c.Session.Hours:
			r.add(at, fmt.Sprintf("a %s of %s takes about %s, and hours allows %s", c.Session.Name, c.Block.Many(min(c.Session.Blocks, c.Block.Count)), cost.UpMinutes(cost.Of(c).Longest), design.TimeText(c.Session.Hours)),
				cost.ShorterSession(c, byRuns))
		}
	}
	if c.Budget != nil && c.Budget.Hours > 0 && cost.Of(c).Time > c.Budget.Hours {
		r.add(budget.byKey["hours"].value.at, fmt.Sprintf("%s of %s take about %s, and hours allows %s", c.Block.Many(c.Block.Count), words.Count(c.RunsPerBlock(), "run"), cost.UpMinutes(cost.Of(c).Time), design.TimeText(c.Budget.Hours)),
			cost.ShorterCampaign(c, byRuns))
	}
}
