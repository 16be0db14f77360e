package size

import (
	"fmt"
	"math"

	"fairrun/design"
	"fairrun/design/plan"
	"fairrun/design/question"
	"fairrun/stats/law"
	"fairrun/stats/words"
)

// recorded is the noise of a response that a rig's record has, of all its campaigns together.
type recorded struct {
	sd        float64 // in the terms that the plan's margin is compared in
	df        float64
	spread    float64 // of whole plots over that
	campaigns int     // that measured it
	apart     string  // in words: whose noise differs from that of the others by more than chance; "" when none does
}

// known says whether the record has the response at all.
func (n recorded) known() bool { return n.sd > 0 && !math.IsInf(n.sd, 1) }

// differ is the level at which campaigns are said to differ in their noise.
const differ = 0.01

// recordedNoise pools the noise of a response over the campaigns of a record:
//
//	s² = Σ νi si² / Σ νi
//
// on Σ νi degrees of freedom, which takes the rig to scatter alike in all. Each campaign is compared with the
// others by the F test of two variances, two-sided, with Bonferroni's bound. A record of a
// response in another unit is not that of this response.
func recordedNoise(n *plan.NoiseRecord, r *design.Response) recorded {
	out := recorded{spread: 1}
	in := terms{log: r.Scale == design.ScaleLog}
	var titles []string
	var variances, dfs []float64
	var plots, plotDF float64
	for _, c := range n.Campaigns {
		for _, m := range c.Responses {
			if m.Name != r.Name {
				continue
			}
			sd, ok := inTermsOf(m, r, in)
			if !ok {
				continue
			}
			titles, variances, dfs = append(titles, c.Title), append(variances, sd*sd), append(dfs, m.DF)
			for _, part := range m.Components {
				if part.Name == question.WholePlot {
					ratio := part.SD / m.SD
					plots, plotDF = plots+m.DF*ratio*ratio, plotDF+m.DF
				}
			}
		}
	}
	sum, total := 0.0, 0.0
	for i, v := range variances {
		sum, total = sum+dfs[i]*v, total+dfs[i]
	}
	if total == 0 {
		return out
	}
	out.sd, out.df, out.campaigns = math.Sqrt(sum/total), total, len(variances)
	if plotDF > 0 {
		out.spread = math.Sqrt(plots / plotDF)
	}
	least := differ
	for i, v := range variances {
		if len(variances) < 2 {
			break
		}
		if len(variances) == 2 && i == 0 {
			continue // one against the other: the later is named
		}
		others, df := (sum-dfs[i]*v)/(total-dfs[i]), total-dfs[i]
		p := 2 * min(law.F{D1: dfs[i], D2: df}.Survival(v/others), law.F{D1: df, D2: dfs[i]}.Survival(others/v))
		if len(variances) > 2 {
			p = min(1, p*float64(len(variances)))
		}
		if p < least {
			least = p
			more, those := "less", "others"
			if v > others {
				more = "more"
			}
			if len(variances) == 2 {
				those = "other"
			}
			out.apart = fmt.Sprintf("%q scattered %s than the %s by more than chance makes it (%s), so the noise of all together may fit none; where the rig has changed, take out of the record what does not hold any more", titles[i], more, those, words.P(p))
		}
	}
	return out
}

// inTermsOf returns a recorded noise in the terms that the plan's margin is compared in; false where that
// cannot be done.
func inTermsOf(m plan.MeasuredNoise, r *design.Response, in terms) (sd float64, ok bool) {
	sd = m.SD
	relative := in.log || r.Margin.Relative
	if !relative && m.Unit != r.Unit {
		return 0, false
	}
	switch {
	case m.Relative && !relative:
		sd *= math.Abs(m.Mean)
	case !m.Relative && relative:
		sd /= math.Abs(m.Mean)
	}
	if in.log {
		sd = math.Sqrt(math.Log1p(sd * sd))
	}
	return sd, sd > 0 && !math.IsInf(sd, 1)
}
