package order

import (
	"math"
	"sort"
)

// The threshold allows the best orders, one in 1/bestShare of them, as long as
// minClasses of them are left that do not merely differ by the names of treatments.
//
// One in twenty: the loss left by the best twentieth is within a few tenths of a per cent of the best
// possible for plans of twenty runs and more, and a fresh allowed order for a
// randomisation test costs twenty candidates. Four hundred: a statistic that does not
// depend on names, as F and the largest difference, takes one value in each class, so
// p values of a randomisation test come in steps of at most 1/400.
const (
	bestShare  = 1.0 / 20
	minClasses = 400
)

// pilotSize is the number of candidates whose losses set the threshold where there are too many orders to look at
// all: 10,000 up to 200 runs, where the acceptance they give is bestShare to within 4.4 % of itself (one
// standard deviation), and fewer in proportion for longer campaigns, down to 1,000 and 14 %.
func (p Plan) pilotSize() int { return max(1_000, min(10_000, 2_000_000/p.runs())) }

// maxClasses is the most classes of orders that are looked at one by one.
const maxClasses = 100_000

// rule is what choose settles.
type rule struct {
	threshold  float64
	acceptance float64
	orders     Count
}

// choose settles the threshold: from all orders where they can be listed, otherwise from a pilot
// drawn from src.
func (s *Set) choose(src *Source) (rule, error) {
	p := s.plan
	block := arrangements(p.Treatments, p.Replicates)
	names := relabellings(p.Treatments)
	switch s.scope {
	case Everything:
		return rule{acceptance: 1, orders: block.power(p.Blocks)}, nil
	case EachBlock:
		// The campaign has (T!·classes)ᴮ/T! classes when each block has so many.
		least := math.Pow(10, (math.Log10(minClasses)+names.Log10)/float64(p.Blocks)-names.Log10)
		return s.chooseUnit(src, block, names, least)
	}
	return s.chooseUnit(src, block.power(p.Blocks), names, minClasses)
}

// chooseUnit settles the threshold of a unit of so many orders, T! in each class, that should keep at least so many
// classes.
func (s *Set) chooseUnit(src *Source, orders, names Count, least float64) (rule, error) {
	classes := math.Pow(10, orders.Log10-names.Log10)
	listed := orders.Log10-names.Log10 <= math.Log10(maxClasses)
	var losses []float64
	if listed {
		losses = s.listLosses()
		classes = float64(len(losses))
	} else {
		losses = s.pilotLosses(src)
	}
	sort.Float64s(losses)
	finite := sort.SearchFloat64s(losses, math.Inf(1))
	if finite == 0 {
		return rule{}, s.plan.confounded()
	}
	share := min(1, max(bestShare, least/classes))
	rank := int(math.Ceil(share*float64(len(losses)) - 1e-6))
	threshold := losses[max(1, min(rank, finite))-1]
	within := s.unit.limit(threshold).loss
	kept := sort.Search(len(losses), func(i int) bool { return losses[i] > within })

	// One unit has so many allowed orders; the campaign consists of one or of B of them.
	r := rule{threshold: threshold, acceptance: float64(kept) / float64(len(losses))}
	r.orders = Count{Log10: shown(orders.Log10 + math.Log10(r.acceptance))}
	if listed {
		r.orders = Count{Exact: uint64(kept), Log10: shown(math.Log10(float64(kept)))}.times(names)
	}
	if s.scope == EachBlock {
		r.orders = r.orders.power(s.plan.Blocks)
	}
	return r, nil
}

// pilotLosses returns the losses of candidates.
func (s *Set) pilotLosses(src *Source) []float64 {
	m := s.Sampler(src)
	size := s.unit.runs * s.unit.blocks
	losses := make([]float64, s.plan.pilotSize())
	for i := range losses {
		m.candidate(0)
		losses[i] = s.unit.loss(m.flat[:size], m.work)
	}
	return losses
}

// listLosses returns the losses of one order of each class of the unit.
func (s *Set) listLosses() []float64 {
	w := s.unit.scratch()
	var losses []float64
	for unit := range s.unitClasses() {
		losses = append(losses, s.unit.loss(unit, w))
	}
	return losses
}

// confounded is the error for a plan none of whose orders can be estimated.
func (p Plan) confounded() error {
	return p.impossible(func(q *Plan) { q.Replicates++ },
		"in every order of %s with %s of each of %d treatments, %s drift hides a difference",
		count(p.Blocks, "block"), count(p.Replicates, "run"), p.Treatments, p.driftWords())
}
