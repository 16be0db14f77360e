package order

import (
	"math"
	"slices"
	"sort"

	"fairrun/design/internal/dense"
	"fairrun/design/lot"
	"fairrun/design/order/internal/loss"
)

// In complete blocks of whole plots, comparisons between settings of the hard-to-change factors rest on
// the order of whole plots alone, of which there are few. Among all comparisons they count for little,
// so that an order may do well by the average and yet lay a hard factor along the drift. They are
// therefore judged by themselves: an order of whole plots is drawn, and drawn again until the
// loss of the comparisons between settings, with whole plots in the model (information.InPlots), keeps
// within a threshold of its own.
//
// The threshold allows the best orders of whole plots, one in four. Where fewer than minClasses
// would be left that do not merely differ by names, more are allowed: up to that many as long as
// their loss is at most fairLoss, and testClasses whatever their loss: with twenty a randomisation
// test between whole plots can reach 1/20. Where there are not so many in all it cannot
// anyway, and the best are taken, however few: in two blocks of two settings those in which the
// second block runs them the other way round.
const (
	bestPlotShare = 1.0 / 4
	testClasses   = 20
)

// plotOrdersListed is the most orders of whole plots that are looked at one by one, and plotPilot
// the number of those drawn otherwise.
const (
	plotOrdersListed = 20_000
	plotPilot        = 2_000
)

// plotRule is what choosePlots settles.
type plotRule struct {
	threshold float64
	share     float64 // of the orders of whole plots that are allowed
	classes   float64 // allowed orders that do not merely differ by names; +Inf if all are alike in their loss
}

// between is nil where there is nothing to judge: one setting, reference runs or no drift.
func (k wholePlots) between(s *stage) *loss.AnyBlocks {
	p := k.Spec
	if p.Drift.degree() == 0 || len(p.Reference) > 0 || p.plotsPerBlock() < 2 {
		return nil
	}
	if p.Effects == nil {
		levels := make([][]int, p.Treatments)
		for t, h := range p.WholePlots {
			levels[t] = []int{h}
		}
		p.Effects = MainEffects(levels)
	} else {
		p.Effects = p.settingMeans()
	}
	m := p.model()
	m.Plots = p.WholePlots
	return loss.NewAnyBlocks(m, s.first)
}

// settingMeans returns, for each treatment, the mean of the effects over the treatments of its
// setting; 0 for effects whose means do not differ.
func (p Spec) settingMeans() [][]float64 {
	columns := len(p.Effects[0])
	means := make([][]float64, p.Treatments)
	for t := range means {
		means[t] = make([]float64, columns)
	}
	settings := p.settings()
	for j := range columns {
		least, most := math.Inf(1), math.Inf(-1)
		mean := make([]float64, len(settings))
		for h, s := range settings {
			for _, t := range s {
				mean[h] += p.Effects[t][j]
			}
			mean[h] /= float64(len(s))
			least, most = min(least, mean[h]), max(most, mean[h])
		}
		if most-least <= dense.RankTolerance*max(math.Abs(least), math.Abs(most)) {
			continue // rounding would count as an effect
		}
		for t, h := range p.WholePlots {
			means[t][j] = mean[h]
		}
	}
	return means
}

// keepPlots lets the stage judge whole plots by a threshold; nil: it does not.
func (s *stage) keepPlots(threshold *float64) {
	s.between = nil
	if threshold == nil {
		return
	}
	if s.between = s.kind.between(s); s.between != nil {
		s.plotLimit = loss.LimitAt(*threshold, s.between.Comparisons())
	}
}

// choosePlots settles the threshold of whole plots; known is false where there is nothing to judge.
func (s *stage) choosePlots(src *lot.Stream) (r plotRule, known bool) {
	between := s.kind.between(s)
	if between == nil {
		return r, false
	}
	h := lot.Factorial(s.plan.plotsPerBlock()).Log10
	all := float64(s.plan.Blocks) * h
	losses := s.plotLosses(between, src, all <= math.Log10(plotOrdersListed))
	sort.Float64s(losses)
	classes := math.Pow(10, min(300, all-h))
	fair := float64(keptOf(losses, fairLoss)) / float64(len(losses))
	var share float64
	if classes >= testClasses-0.5 {
		share = min(1, max(bestPlotShare, min(minClasses/classes, fair), testClasses/classes))
	}
	threshold, kept := quantile(losses, share)
	if kept == 0 {
		return r, false
	}
	r = plotRule{threshold: threshold, share: float64(kept) / float64(len(losses))}
	r.classes = classes * r.share
	if keptOf(losses, losses[0]) == kept {
		r.classes = math.Inf(1)
	}
	return r, true
}

// plotLosses returns the losses of all orders of whole plots, or of so many as plotPilot.
func (s *stage) plotLosses(between *loss.AnyBlocks, src *lot.Stream, listed bool) []float64 {
	n, blocks := s.plan.runsPerBlock(), s.plan.Blocks
	flat := slices.Clone(s.first)
	w := between.Scratch()
	plots := s.plan.plotLengths(s.first)[0]
	starts := make([]int, len(plots))
	for i := 1; i < len(starts); i++ {
		starts[i] = starts[i-1] + plots[i-1]
	}
	place := func(b int, turn []int) {
		at := b * n
		for _, h := range turn {
			from := b*n + starts[h]
			at += copy(flat[at:], s.first[from:from+plots[h]])
		}
	}
	var losses []float64
	if !listed {
		turn := lot.Identity(len(plots))
		for range plotPilot {
			for b := range blocks {
				lot.Shuffle(src, turn)
				place(b, turn)
			}
			losses = append(losses, between.Loss(flat, w))
		}
		return losses
	}
	turns := lot.Permutations(len(plots))
	var fill func(b int)
	fill = func(b int) {
		if b == blocks {
			losses = append(losses, between.Loss(flat, w))
			return
		}
		for _, turn := range turns {
			place(b, turn)
			fill(b + 1)
		}
	}
	fill(0)
	return losses
}
