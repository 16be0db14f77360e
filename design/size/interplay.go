package size

import (
	"math"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// SpecimensPoint is what a campaign with so many specimens achieves, each with as many blocks as the plan
// gives to one.
type SpecimensPoint struct {
	Specimens int `json:"specimens"`
	Point
}

// interplay is how differently several specimens answer to a level: the standard deviation from specimen to specimen, over the
// noise from run to run.
type interplay struct {
	count int
	sd    float64
}

// assumedInterplay is the interplay of a plan with several specimens: that of the pilot, where it measured one, otherwise
// that which the plan is rehearsed with; nil with one specimen or none.
func assumedInterplay(c *design.Plan, factor, response string, pilot *verdict.Verdict) *interplay {
	if specimensOf(c) < 2 {
		return nil
	}
	bench := c.Simulation
	if bench == nil {
		bench = c.DefaultSimulation()
	}
	out := &interplay{c.Specimens.Count, bench.Interplay}
	if pilot == nil {
		return out
	}
	for i := range pilot.Responses {
		if r := &pilot.Responses[i]; r.Name == response {
			if sd, known := measuredInterplay(c, r, factor); known {
				out.sd = sd
			}
		}
	}
	return out
}

// measuredInterplay is that which the comparisons of a factor were judged by.
func measuredInterplay(c *design.Plan, r *verdict.Response, factor string) (sd float64, known bool) {
	return answeredBy(c.Specimens.Name, r, factor)
}

// answeredBy is how differently items answered the levels of a factor, over the noise from run to run.
func answeredBy(item string, r *verdict.Response, factor string) (sd float64, known bool) {
	for _, d := range r.Noise.Differences {
		for _, p := range d.Parts {
			if d.Factors.Term() == factor && p.Item == item && p.Name != item && p.SD.Known() && r.Noise.SD > 0 {
				return float64(p.SD / r.Noise.SD), true
			}
		}
	}
	return 0, false
}

// blockInterplay is how differently blocks are taken to answer: as a pilot with repeats in its blocks measured it, otherwise as the plan
// is rehearsed. A pilot without repeats has it in its noise.
func blockInterplay(c *design.Plan, factor, response string, pilot *verdict.Verdict) float64 {
	if pilot != nil {
		for i := range pilot.Responses {
			if r := &pilot.Responses[i]; r.Name == response {
				if sd, known := answeredBy(c.Block.Name, r, factor); known {
					return sd
				}
			}
		}
	}
	if c.Simulation != nil {
		return c.Simulation.Interplay
	}
	return c.DefaultSimulation().Interplay
}

// bySpecimens judges a family by how far specimens agree, where there are several: growing counts blocks, and At tells
// on how many specimens so many lie.
func (s family) bySpecimens(runs power.Growth, specimens func(n int) int, blocks func(n int) int, least int) power.Growth {
	return power.Growth{Least: least, At: func(n int) power.Precision {
		b := blocks(n)
		p := runs.At(b)
		if !(p.DF > 0) {
			return p
		}
		taken := 0.0 // by drift
		if !s.between() {
			q := float64(s.design.Drift + s.design.CarryOver + b*s.design.OwnDrift)
			taken = q / (p.DF + q)
		}
		return p.WithInterplay(specimens(n), s.answered(), s.onLevel()*math.Sqrt(question.Inflation(s.plan)), taken)
	}}
}

// answered is how many levels or combinations specimens answer each in their own way.
func (s family) answered() int {
	if s.Average {
		return s.design.Treatments
	}
	return s.count()
}

// onLevel is the interplay of the mean of a level: that of a combination, averaged over those with the level.
func (s family) onLevel() float64 {
	return s.specimens.sd * math.Sqrt(float64(s.count())/float64(s.answered()))
}

// moreBlocksOn grows by blocks on the specimens of the plan, of which each has one.
func (s family) moreBlocksOn(runs power.Growth) power.Growth {
	return s.bySpecimens(runs, func(int) int { return s.specimens.count }, func(n int) int { return n }, max(runs.Least, s.specimens.count))
}

// blocksEach is how many blocks the plan gives to one specimen.
func (s family) blocksEach() int {
	return (s.plan.Block.Count + s.specimens.count - 1) / s.specimens.count
}

// moreSpecimens grows by specimens, each with as many blocks as the plan gives to one.
func (s family) moreSpecimens(runs power.Growth) power.Growth {
	return s.bySpecimens(runs, func(n int) int { return n }, func(n int) int { return n * s.blocksEach() }, 2)
}

// furtherBlocks grows by further blocks on the specimens that answered so far, of which they measured the interplay:
// the noise within specimens averages out, how differently they answer does not, and their number stays.
func (s family) furtherBlocks(now power.Precision) power.Growth {
	between := s.fromSpecimens(now)
	return power.Growth{At: func(n int) power.Precision {
		return s.onSpecimens(now, s.specimens.count, s.done+float64(n), between)
	}}
}

// specimensInAll grows by specimens in all, each with as many blocks as those so far.
func (s family) specimensInAll(now power.Precision) power.Growth {
	between := s.fromSpecimens(now)
	return power.Growth{Least: s.specimens.count, At: func(n int) power.Precision {
		p := s.onSpecimens(now, n, s.done*float64(n)/float64(s.specimens.count), between)
		p.DF *= float64(n-1) / float64(s.specimens.count-1)
		return p
	}}
}

// fromSpecimens is the share of SE² that is how differently specimens answer.
func (s family) fromSpecimens(now power.Precision) float64 {
	of := 2 * s.onLevel() * s.onLevel() * question.Inflation(s.plan) / float64(s.specimens.count)
	return min(of/(now.SE*now.SE), 1)
}

// onSpecimens is the precision with so many blocks in all on so many specimens, from that which is reached now.
func (s family) onSpecimens(now power.Precision, specimens int, blocks, between float64) power.Precision {
	within := (1 - between) * s.done / blocks
	share := between * float64(s.specimens.count) / float64(specimens)
	p := power.Precision{SE: now.SE * math.Sqrt(within+share), DF: now.DF}
	own := float64((specimens - 1) * (s.answered() - 1))
	if rest := blocks*float64(s.plan.DrawnPerBlock()-1-s.design.OwnDrift) - float64(s.design.Terms+s.design.Drift+s.design.CarryOver) - own; rest > 0.5 && within > 0 {
		p.Within, p.WithinDF = within/(within+share), rest
	}
	return p
}

// specimensEnough fills in how many specimens would do, and what numbers of them achieve.
func (s family) specimensEnough(z *FamilySize, t power.Target, g power.Growth, in terms) {
	const shown = 12
	at := func(n int) SpecimensPoint { return SpecimensPoint{n, s.pointAt(t, g.At(n), n*s.blocksEach(), in)} }
	most := max(g.Least, s.most/s.blocksEach())
	last := s.specimens.count
	if answer, err := s.compare.Needed(t, g, most); err == nil && !answer.Short {
		p := at(answer.N)
		z.NeededSpecimens, last = &p, max(last, answer.N)
	}
	for n := g.Least; n <= min(last+1, g.Least+shown-1); n++ {
		z.BySpecimens = append(z.BySpecimens, at(n))
	}
	if k := len(z.BySpecimens); z.NeededSpecimens != nil && z.NeededSpecimens.Specimens > z.BySpecimens[k-1].Specimens {
		z.BySpecimens = append(z.BySpecimens, *z.NeededSpecimens)
	}
}

// judgedBySpecimens is the interplay that the comparisons of a factor were judged by; known is false with one specimen or none.
func judgedBySpecimens(c *design.Plan, r *verdict.Response, factor string) (sd float64, known bool) {
	if specimensOf(c) < 2 {
		return 0, false
	}
	return measuredInterplay(c, r, factor)
}
