package check

import (
	"cmp"
	"slices"

	"fairrun/stats/law"
)

// Association is the outcome of [Fisher].
type Association struct {
	P     float64
	Exact bool // false: the table is too large to go through, P is chi-squared's
	// Statistic and DF are those of Pearson's chi-squared, exact or not.
	Statistic float64
	DF        float64
}

// fisherWork bounds the steps that [Fisher] takes before it settles for
// chi-squared: about a quarter of a second.
const fisherWork = 2_000_000

// sameProbability is how far two tables' probabilities may differ, relatively,
// and still count as equal: the sums are made in floating point.
const sameProbability = 1e-7

// Fisher tests whether failures depend on the level. Given how many runs each
// level had and how many failed in all, and nothing else going on, a table has
// probability
//
//	Π C(runsᵢ, failedᵢ) / C(N, m),  N = Σ runs, m = Σ failed
//
// and P is the total probability of the tables that are no more probable than
// the one seen. failed[i] of runs[i] runs of level i failed; levels without
// runs are passed over. When none or all of the runs failed there is only one
// such table, and P is 1.
//
// A table too large to go through gets the P of Pearson's chi-squared without
// continuity correction instead, and says so in Exact. Ten levels of 25 are gone
// through, and four of 200; five levels of 200 with a third failed are too many.
//
// [ErrOneGroup] when fewer than two levels have runs. Panics when lengths differ
// or a count lies outside 0 to runs.
//
// Source: Fisher 1934, Statistical Methods for Research Workers, 5th edition;
// Freeman & Halton 1951, Biometrika 38 (more than two levels); the halves:
// Horowitz & Sahni 1974, Journal of the ACM 21. Accuracy: 1e-12 relative against
// enumeration in whole numbers.
func Fisher(failed, runs []int) (Association, error) {
	if len(failed) != len(runs) {
		panic("check: Fisher needs one number of failures a number of runs")
	}
	var t failureTable
	for i, n := range runs {
		if failed[i] < 0 || failed[i] > n {
			panic(badCount)
		}
		if n > 0 {
			t.levels = append(t.levels, failureCount{failed: failed[i], runs: n})
			t.failed += failed[i]
			t.runs += n
		}
	}
	if len(t.levels) < 2 {
		return Association{}, ErrOneGroup
	}
	a := Association{DF: float64(len(t.levels) - 1)}
	if t.failed == 0 || t.failed == t.runs {
		a.P, a.Exact = 1, true
		return a, nil
	}
	a.Statistic = t.chiSquared()
	if a.P, a.Exact = t.exact(fisherWork); !a.Exact {
		a.P = law.ChiSquared{DF: a.DF}.Survival(a.Statistic)
	}
	return a, nil
}

type failureCount struct{ failed, runs int }

// failureTable has at least two levels, all with runs, some of which failed.
type failureTable struct {
	levels       []failureCount
	failed, runs int // totals
}

// chiSquared is Pearson's: Σ (failedᵢ − nᵢπ)²/(nᵢπ(1−π)), π = m/N.
func (t failureTable) chiSquared() float64 {
	rate := float64(t.failed) / float64(t.runs)
	sum := 0.0
	for _, l := range t.levels {
		d := float64(l.failed) - float64(l.runs)*rate
		sum += d * d / (float64(l.runs) * rate * (1 - rate))
	}
	return sum
}

// exact adds up the probabilities of the tables that are no more probable than
// t. Each level's failures are taken as binomial with the common rate m/N: given
// their total, which cancels, that is the law wanted, without a factorial.
//
// The levels are dealt to two halves, and only the ways to fill each half are
// listed. A whole table is a way of either half that have m failures together;
// with the lists in order of probability, the partners that make a table no more
// probable than t are a stretch at the head of a list, whose sum is known. ok is
// false when listing the halves takes more steps than work.
func (t failureTable) exact(work int) (p float64, ok bool) {
	levels := slices.Clone(t.levels)
	slices.SortFunc(levels, func(a, b failureCount) int { return b.runs - a.runs })
	rate := float64(t.failed) / float64(t.runs)
	seen := 1.0
	halves := [2]half{newHalf(t.failed), newHalf(t.failed)}
	for _, l := range levels {
		law := binomialLaw(l.runs, rate)
		seen *= law[l.failed]
		smaller := &halves[0]
		if halves[1].size < smaller.size {
			smaller = &halves[1]
		}
		if work -= smaller.size * min(len(law), t.failed+1); work < 0 {
			return 0, false
		}
		smaller.add(law)
	}
	limit := seen * (1 + sameProbability)
	var among, total float64
	for failed, left := range halves[0].ways {
		right := halves[1].ways[t.failed-failed]
		upTo := make([]float64, len(right)+1) // total of the first so many
		for i, r := range right {
			upTo[i+1] = upTo[i] + r.all
		}
		n := len(right)
		for _, l := range left { // the more probable l is, the fewer partners
			for n > 0 && l.each*right[n-1].each > limit {
				n--
			}
			among += l.all * upTo[n]
			total += l.all * upTo[len(right)]
		}
	}
	return among / total, true
}

// way is a set of ways to fill some levels that are equally probable, but for
// rounding: the probability of each, and of all together.
type way struct{ each, all float64 }

// half lists the ways to fill some of the levels, by the number of failures in
// them, in rising order of probability.
type half struct {
	ways [][]way
	size int // ways in all
}

func newHalf(failed int) half {
	h := half{ways: make([][]way, failed+1), size: 1}
	h.ways[0] = []way{{each: 1, all: 1}}
	return h
}

// add takes in one more level, with law[x] the chance of x failures in it.
func (h *half) add(law []float64) {
	next := make([][]way, len(h.ways))
	for failed, ways := range h.ways {
		if len(ways) == 0 {
			continue
		}
		for x := range min(len(law), len(next)-failed) {
			for _, w := range ways {
				next[failed+x] = append(next[failed+x], way{each: w.each * law[x], all: w.all * law[x]})
			}
		}
	}
	h.size = 0
	for failed, list := range next {
		slices.SortFunc(list, func(a, b way) int { return cmp.Compare(a.each, b.each) })
		// Levels with as many runs can be filled in equally probable ways.
		merged := list[:0]
		for _, w := range list {
			if last := len(merged) - 1; last >= 0 && w.each <= merged[last].each*(1+1e-12) {
				merged[last].all += w.all
			} else {
				merged = append(merged, w)
			}
		}
		next[failed] = merged
		h.size += len(merged)
	}
	h.ways = next
}

// binomialLaw returns the chances of 0 to n successes in n trials of the given
// rate, each from its neighbour, starting at the most probable so that
// nothing underflows that matters.
func binomialLaw(n int, rate float64) []float64 {
	odds := rate / (1 - rate)
	law := make([]float64, n+1)
	mode := min(n, int(float64(n+1)*rate))
	law[mode] = 1
	total := 1.0
	for x := mode; x < n; x++ {
		law[x+1] = law[x] * (float64(n-x) / float64(x+1) * odds)
		total += law[x+1]
	}
	for x := mode; x > 0; x-- {
		law[x-1] = law[x] * (float64(x) / float64(n-x+1) / odds)
		total += law[x-1]
	}
	for x := range law {
		law[x] /= total
	}
	return law
}
