package design

import (
	"math"
	"slices"
	"time"
)

// Cost is what a campaign takes. Time and Lasts need a budget in the plan and are zero without.
type Cost struct {
	Runs   int
	Blocks int           // packs, sessions
	Lasts  int           // runs the supply of one block would last; 0 when nothing runs out
	Time   time.Duration // expected at the bench, from the first run's start to the last run's end
}

// Cost returns what the plan takes, before anything is drawn.
//
// With run time u, rest s, swap w and C the changeover times, added up, of the factors that differ
// between two neighbours, the time of n runs in b blocks of k is
//
//	n u + b (k-1) E[max(s, C)] + (b-1) E[max(s, w + C)]
//
// since changing a setting or a pack takes place while the thing under test rests. The expectations
// are over all orders alike: neighbours within a block are any two of its runs (in an incomplete
// block, any two treatments), and across blocks any two treatments, the same one too.
func (c *Campaign) Cost() Cost {
	cost := Cost{Runs: c.Runs(), Blocks: c.Block.Count}
	if c.Budget == nil {
		return cost
	}
	b := c.Budget
	if b.Supply != nil {
		cost.Lasts = b.Supply.Runs()
	}
	groups := c.changeGroups()
	t, k := float64(c.countTreatments()), float64(c.RunsPerBlock())
	// The chance that neighbours within a block are two given different treatments, in this order.
	within := 1 / (t * (t - 1))
	if r := float64(c.Block.Replicates); r > 0 {
		within = r * r / (k * (k - 1))
	}
	rest, swap := float64(b.Rest), float64(b.Swap)
	pause, change := rest, max(rest, swap) // what every pair takes; the differing ones add to it
	for i, g := range groups {
		for _, h := range groups[:i] {
			apart := 0.0
			for f := range g.levels {
				if g.levels[f] != h.levels[f] {
					apart += float64(b.Changeover[f].Time)
				}
			}
			pairs := 2 * float64(g.treatments) * float64(h.treatments)
			pause += pairs * within * (max(rest, apart) - rest)
			change += pairs / (t * t) * (max(rest, swap+apart) - max(rest, swap))
		}
	}
	blocks := float64(c.Block.Count)
	total := float64(cost.Runs)*float64(b.Run) + blocks*(k-1)*pause + (blocks-1)*change
	cost.Time = time.Duration(math.Round(total/float64(time.Second))) * time.Second
	return cost
}

// changeGroup is the treatments that agree in every factor that takes time to change.
type changeGroup struct {
	levels     []int // by Changeover
	treatments int
}

func (c *Campaign) changeGroups() []changeGroup {
	factors := c.changing()
	var groups []changeGroup
	seen := map[string]int{}
	for _, t := range c.Treatments() {
		levels := make([]int, len(factors))
		key := make([]byte, 0, 2*len(factors))
		for i, f := range factors {
			levels[i] = slices.Index(c.Factors[f].Levels, t.Levels[f])
			key = append(key, byte(levels[i]), byte(levels[i]>>8))
		}
		i, known := seen[string(key)]
		if !known {
			i = len(groups)
			seen[string(key)] = i
			groups = append(groups, changeGroup{levels: levels})
		}
		groups[i].treatments++
	}
	return groups
}

// changing returns the indexes of the factors that take time to change, by Changeover.
func (c *Campaign) changing() []int {
	var factors []int
	for _, change := range c.Budget.Changeover {
		factors = append(factors, slices.IndexFunc(c.Factors, func(f Factor) bool { return f.Name == change.Factor }))
	}
	return factors
}

// BenchTime returns the time an order takes at the bench, by the rule of Cost: blocks holds, block
// by block, the indexes into Treatments in run order. It is zero without a budget.
func (c *Campaign) BenchTime(blocks [][]int) time.Duration {
	if c.Budget == nil {
		return 0
	}
	b := c.Budget
	factors, treatments := c.changing(), c.Treatments()
	var total time.Duration
	last := -1
	for _, block := range blocks {
		for i, t := range block {
			if last >= 0 {
				var hands time.Duration
				for j, f := range factors {
					if treatments[t].Levels[f] != treatments[last].Levels[f] {
						hands += b.Changeover[j].Time
					}
				}
				if i == 0 {
					hands += b.Swap
				}
				total += max(b.Rest, hands)
			}
			total += b.Run
			last = t
		}
	}
	return total
}
