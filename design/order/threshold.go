package order

import (
	"math"
	"sort"

	"fairrun/design/lot"
	"fairrun/design/order/internal/loss"
)

// The threshold allows the best orders, one in 1/bestShare of them. Where fewer than minClasses of
// them would be left that do not merely differ by the names of treatments, more are allowed: up to
// that many as long as their loss is at most fairLoss, and fewClasses whatever their loss.
//
// One in twenty: drawn orders then lose a tenth of what random ones do to a straight drift, and a
// fifth to a half to a parabola, within 1 % of the best of 2,000 drawn ones but for parabolas of
// each block's own (TestEfficiencyTable measures it), and a fresh allowed order for a randomisation
// test costs twenty candidates. Four hundred: a statistic that does not depend on names, as F and
// the largest difference, takes one value in each class, so p values of a randomisation test come
// in steps of at most 1/400. A tenth: steps that fine are not worth more precision than that; two
// packs of two levels run twice have 18 classes in all, and the worst lose four fifths. Ten: an order
// of hardly any choice is not random.
const (
	bestShare  = 1.0 / 20
	minClasses = 400
	fairLoss   = 0.1
	fewClasses = 10
)

// pilotSize is the number of candidates whose losses set the threshold where there are too many
// orders to look at all: 10,000 up to 200 runs, where the acceptance they give is bestShare to
// within 4.4 % of itself (one standard deviation), and fewer in proportion for longer campaigns,
// down to 1,000 and 14 %.
func (p Spec) pilotSize() int { return max(1_000, min(10_000, 2_000_000/p.runs())) }

// maxClasses is the most classes of orders that are looked at one by one.
const maxClasses = 100_000

// rule is what choose settles.
type rule struct {
	threshold  float64
	acceptance float64
	orders     lot.Count
	plots      *float64 // threshold of whole plots, nil if they are not judged by themselves
}

// choose settles the threshold: from all orders where they can be listed, otherwise from a pilot
// drawn from src.
func (s *stage) choose(src *lot.Stream) (rule, error) {
	if s.scope == Everything {
		if math.IsInf(s.loss(s.first), 1) {
			return rule{}, s.plan.confounded()
		}
		return rule{acceptance: 1, orders: s.allOrders(s.plan.Blocks)}, nil
	}
	plots, judged := s.choosePlots(src)
	if judged {
		s.keepPlots(&plots.threshold)
		s.keptPlots = plots.classes
	}
	units := 1
	if s.scope == EachBlock {
		units = s.plan.Blocks
	}
	// The unit has so many orders; names of treatments make no difference to its loss.
	orders, names := s.unitOrders()
	classes := math.Pow(10, orders.Log10-names.Log10)
	listed := s.kind.listed() && orders.Log10-names.Log10 <= math.Log10(maxClasses)
	var losses []float64
	if listed {
		losses = s.listLosses()
		classes = float64(len(losses))
	} else {
		losses = s.pilotLosses(src)
	}
	sort.Float64s(losses)
	// B units of T!·c orders make a campaign of (T!·c)ᴮ/T! classes.
	leaving := func(classesLeft float64) float64 {
		unit := math.Pow(10, (math.Log10(classesLeft)+names.Log10)/float64(units)-names.Log10)
		return unit / min(classes, s.coarsest(s.plan.Blocks))
	}
	fair := float64(keptOf(losses, fairLoss)) / float64(len(losses))
	share := min(1, max(bestShare, min(leaving(minClasses), fair), leaving(fewClasses)))
	threshold, kept := quantile(losses, share)
	if kept == 0 {
		return rule{}, s.plan.confounded()
	}
	r := rule{threshold: threshold, acceptance: float64(kept) / float64(len(losses))}
	r.orders = lot.Count{Log10: lot.RoundLog(orders.Log10 + math.Log10(r.acceptance))}
	if listed {
		r.orders = lot.Count{Exact: uint64(kept), Log10: lot.RoundLog(math.Log10(float64(kept)))}.Times(names)
	}
	r.orders = r.orders.Power(units)
	if judged {
		r.plots = &plots.threshold
		r.acceptance *= plots.share
		r.orders.Log10 = lot.RoundLog(r.orders.Log10 + math.Log10(plots.share))
	}
	return r, nil
}

// quantile returns the loss that the given share of losses does not exceed, and the number that do
// not; both 0 if all are infinite. The losses are in rising order.
func quantile(losses []float64, share float64) (threshold float64, kept int) {
	finite := sort.SearchFloat64s(losses, math.Inf(1))
	if finite == 0 {
		return 0, 0
	}
	rank := int(math.Ceil(share*float64(len(losses)) - 1e-6))
	threshold = losses[max(1, min(rank, finite))-1]
	return threshold, keptOf(losses, threshold)
}

// keptOf returns how many losses, which are in rising order, do not exceed a threshold.
func keptOf(losses []float64, threshold float64) int {
	limit := loss.LimitAt(threshold, 1).Loss
	return sort.Search(len(losses), func(i int) bool { return losses[i] > limit })
}

// pilotLosses returns the losses of candidates.
func (s *stage) pilotLosses(src *lot.Stream) []float64 {
	set := &Set{plan: s.plan, stages: []stage{*s}}
	set.stages[0].scope = Everything // a candidate needs no look at its loss
	m := set.Sampler(src)
	to := s.plan.Blocks
	if s.each > 0 {
		to = 1
	}
	losses := make([]float64, s.plan.pilotSize())
	for i := range losses {
		m.unit(0, 0, to)
		losses[i] = s.unit.Loss(m.flat[:to*s.plan.runsPerBlock()], m.work[0])
	}
	return losses
}

// listLosses returns the losses of one order of each class of the unit.
func (s *stage) listLosses() []float64 {
	w := s.unit.Scratch()
	var losses []float64
	for unit := range s.classes() {
		losses = append(losses, s.unit.Loss(unit, w))
	}
	return losses
}

// unitOrders returns the number of orders of a unit, and of the names under which its loss is the same.
func (s *stage) unitOrders() (orders, names lot.Count) {
	blocks := s.plan.Blocks
	if s.each > 0 {
		blocks = 1
	}
	if !s.kind.listed() {
		return s.allOrders(blocks), lot.Count{Exact: 1}
	}
	return s.allOrders(blocks), lot.Factorial(s.plan.Treatments)
}
