package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Source is a source of variation that more of something averages out: specimens,
// packs within specimens, runs within packs.
type Source struct {
	Name string

	// Variance is what of it stays in a difference between treatments: the variance
	// between items or, where they are shared, that of the interaction of items and
	// treatments, which is often 0.
	Variance float64

	Shared bool    // every treatment is run on every item: an item is a block
	Cost   float64 // of an item, in any unit; of a run, for the last source
	Max    int     // items that can be had within one of the source above; 0: any number
}

// Split asks how to spend runs. The sources are nested, the coarsest first and
// single runs last; once items are not shared, what lies within them is not.
type Split struct {
	Treatments int
	Sources    []Source
	Runs       int     // no more than these; 0: no bound
	Budget     float64 // no more than this cost; 0: no bound
}

// Layout is a balanced layout: every treatment has Items[0] items of the first
// source, each with Items[1] of the second, and so on.
type Layout struct {
	Items    []int
	Runs     int // of all treatments
	Cost     float64
	Variance float64   // of a difference between two treatment means
	Share    []float64 // what each source contributes to Variance, as a part of it
}

// Step is a layout with one more item of one source.
type Step struct {
	Source int // index into Split.Sources
	Runs   int // more than before
	Cost   float64
	Gain   float64 // the part of Variance that it takes away
	Layout Layout
}

var (
	// ErrUnbounded reports a question about layouts without a bound on the runs:
	// neither a number of them nor a budget that runs cost something of.
	ErrUnbounded = errors.New("nothing bounds the number of runs")

	// ErrTooFewRuns reports that not even one run of each treatment can be had.
	ErrTooFewRuns = errors.New("not enough for one run of each treatment")
)

const (
	panicTreatments = "mixed: a split needs two treatments or more and a source"
	panicShared     = "mixed: items within items that are not shared cannot be shared"
	panicItems      = "mixed: a layout needs a number of items, 1 or more, for each source"
)

func (s Split) check() {
	if s.Treatments < 2 || len(s.Sources) == 0 {
		panic(panicTreatments)
	}
	for i := range s.Sources[1:] {
		if s.Sources[i+1].Shared && !s.Sources[i].Shared {
			panic(panicShared)
		}
	}
}

// At returns the layout with the given numbers of items. With n1 … ni the items of
// the first i sources and v1 … vk the variances,
//
//	Variance = 2 Σ vi / (n1 … ni).
//
// Panics if there is not a number for each source, or one below 1.
func (s Split) At(items ...int) Layout {
	s.check()
	if len(items) != len(s.Sources) || slices.Min(items) < 1 {
		panic(panicItems)
	}
	l := Layout{Items: slices.Clone(items), Runs: s.Treatments, Share: make([]float64, len(items))}
	product := 1
	for i, n := range items {
		product *= n
		l.Runs *= n
		of := product
		if !s.Sources[i].Shared {
			of *= s.Treatments
		}
		l.Cost += s.Sources[i].Cost * float64(of)
		l.Share[i] = 2 * s.Sources[i].Variance / float64(product)
		l.Variance += l.Share[i]
	}
	if l.Variance > 0 {
		for i := range l.Share {
			l.Share[i] /= l.Variance
		}
	}
	return l
}

// allows reports whether a layout keeps within all bounds.
func (s Split) allows(l Layout) bool {
	for i, n := range l.Items {
		if m := s.Sources[i].Max; m > 0 && n > m {
			return false
		}
	}
	return (s.Runs == 0 || l.Runs <= s.Runs) && (s.Budget == 0 || l.Cost <= s.Budget*(1+1e-12))
}

// Best returns the layout with the smallest Variance that the bounds allow; among
// equals the one that costs least, then the one with fewest runs. The search is
// complete. The error wraps ErrUnbounded or ErrTooFewRuns.
func (s Split) Best() (Layout, error) {
	s.check()
	last := len(s.Sources) - 1
	if s.Runs <= 0 && (s.Budget <= 0 || s.Sources[last].Cost <= 0) {
		return Layout{}, ErrUnbounded
	}
	items := slices.Repeat([]int{1}, last+1)
	best := s.At(items...)
	if !s.allows(best) {
		return Layout{}, fmt.Errorf("%d runs at a cost of %g: %w", best.Runs, best.Cost, ErrTooFewRuns)
	}
	var search func(i int)
	search = func(i int) {
		// More of a source never makes what is within it cheaper.
		for items[i] = 1; s.allows(s.At(items...)); items[i]++ {
			if i < last {
				search(i + 1)
				continue
			}
			// The variance falls with the runs, or does not depend on them.
			for _, n := range []int{1, s.most(items)} {
				items[i] = n
				if l := s.At(items...); better(l, best) {
					best = l
				}
			}
			break
		}
		items[i] = 1
	}
	search(0)
	return best, nil
}

// most returns the largest number of the last items that is allowed beside the
// others, which allow one.
func (s Split) most(items []int) int {
	at := slices.Clone(items)
	fits := func(n int) bool {
		at[len(at)-1] = n
		return s.allows(s.At(at...))
	}
	lo, hi := 1, 2
	for fits(hi) {
		lo, hi = hi, 2*hi
	}
	for hi-lo > 1 {
		if mid := lo + (hi-lo)/2; fits(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// better reports whether a is to be preferred.
func better(a, b Layout) bool {
	switch {
	case math.Abs(a.Variance-b.Variance) > 1e-12*b.Variance:
		return a.Variance < b.Variance
	case math.Abs(a.Cost-b.Cost) > 1e-12*b.Cost:
		return a.Cost < b.Cost
	}
	return a.Runs < b.Runs
}

// Next returns what one more item of each source would do to a layout, the best
// use of a run first, or of cost where anything costs. Sources of which there is
// no more to be had are left out; the bounds on runs and cost are not looked at.
func (s Split) Next(l Layout) []Step {
	var steps []Step
	for i := range s.Sources {
		items := slices.Clone(l.Items)
		items[i]++
		if m := s.Sources[i].Max; m > 0 && items[i] > m {
			continue
		}
		to := s.At(items...)
		step := Step{Source: i, Runs: to.Runs - l.Runs, Cost: to.Cost - l.Cost, Layout: to}
		if l.Variance > 0 {
			step.Gain = 1 - to.Variance/l.Variance
		}
		steps = append(steps, step)
	}
	price := func(st Step) float64 {
		if slices.ContainsFunc(s.Sources, func(c Source) bool { return c.Cost > 0 }) {
			return st.Cost
		}
		return float64(st.Runs)
	}
	slices.SortStableFunc(steps, func(a, b Step) int {
		switch x, y := a.Gain*price(b), b.Gain*price(a); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return steps
}
