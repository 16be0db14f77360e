package order

import (
	"fmt"
	"math"
	"slices"

	"fairrun/design/internal/information"
	"fairrun/design/lot"
)

// wholePlots are complete blocks in which the runs of a setting of the hard-to-change factors stay
// together. Whole plots of a block, and runs within them, come in any order.
type wholePlots struct{ defaults }

func (k wholePlots) design([][]int) ([][]int, error) {
	return k.blocksOf(slices.Concat(k.settings()...)), nil
}

func (k wholePlots) within(s *stage) within {
	return newPlotsWithin(k.Spec, k.plotLengths(s.first))
}

func (k wholePlots) holds(flat []int32) error { return k.together(flat) }

func (k wholePlots) orders(s *stage, blocks int) lot.Count {
	plots := k.plotLengths(s.first)[0]
	c := lot.Factorial(len(plots))
	for _, runs := range plots {
		c = c.Times(lot.Arrangements(runs/k.Replicates, k.Replicates))
	}
	return c.Power(blocks)
}

func (k wholePlots) coarsest(s *stage, blocks int) float64 {
	return math.Pow(10, float64(blocks-1)*lot.Factorial(k.plotsPerBlock()).Log10)
}

// plotLengths returns the number of runs of each whole plot of each block of an order.
func (p Spec) plotLengths(order []int32) [][]int {
	n := p.runsPerBlock()
	lengths := make([][]int, len(order)/n)
	for b := range lengths {
		for from, to := range information.WholePlots(p.WholePlots, order[b*n:(b+1)*n]) {
			lengths[b] = append(lengths[b], to-from)
		}
	}
	return lengths
}

// together returns an error if the runs of some whole plot do not stand together in a block.
func (p Spec) together(flat []int32) error {
	n := p.runsPerBlock()
	seen := make([]int, p.Treatments) // block, from 1, in which a setting was met last
	for at := 0; at < len(flat); at += n {
		block := flat[at : at+n]
		for from := range information.WholePlots(p.WholePlots, block) {
			h := p.WholePlots[block[from]]
			if seen[h] == at/n+1 {
				return fmt.Errorf("a whole plot is broken up")
			}
			seen[h] = at/n + 1
		}
	}
	return nil
}

// plotsWithin draws any order of the whole plots of a block and of the runs within each.
type plotsWithin struct {
	plan    Spec
	lengths [][]int // of the whole plots of each block
	tmp     []int32
	turn    []int
}

func newPlotsWithin(p Spec, lengths [][]int) plotsWithin {
	return plotsWithin{p, lengths, make([]int32, p.runsPerBlock()), make([]int, p.Treatments)}
}

func (w plotsWithin) shuffle(src *lot.Stream, from int, part []int32) {
	for n := len(w.tmp); len(part) > 0; part = part[n:] {
		w.shuffleBlock(src, part[:n], w.lengths[from])
		from++
	}
}

func (w plotsWithin) shuffleBlock(src *lot.Stream, block []int32, lengths []int) {
	turn := w.turn[:len(lengths)]
	at := 0
	for i, n := range lengths {
		lot.Shuffle(src, block[at:at+n])
		turn[i] = i
		at += n
	}
	lot.Shuffle(src, turn)
	copy(w.tmp, block)
	to := 0
	for _, plot := range turn {
		from := 0
		for _, n := range lengths[:plot] {
			from += n
		}
		to += copy(block[to:], w.tmp[from:from+lengths[plot]])
	}
}

func (w plotsWithin) exchanges(order []int32) (all []exchange, known bool) {
	n := len(w.tmp)
	plot := func(t byte) int { return w.plan.WholePlots[t] }
	for at := range order {
		if at%n == 0 {
			continue
		}
		all = append(all, func(x []byte) {
			if plot(x[at-1]) == plot(x[at]) {
				x[at-1], x[at] = x[at], x[at-1]
			}
		})
	}
	for b, lengths := range w.lengths {
		for i := range len(lengths) - 1 {
			all = append(all, func(x []byte) { // the i-th whole plot of a block and the next
				block := x[b*n : (b+1)*n]
				var bounds []int
				for at := range block {
					if at == 0 || plot(block[at]) != plot(block[at-1]) {
						bounds = append(bounds, at)
					}
				}
				bounds = append(bounds, n)
				from, middle, to := bounds[i], bounds[i+1], bounds[i+2]
				was := append([]byte(nil), block[from:to]...)
				k := copy(block[from:], was[middle-from:])
				copy(block[from+k:], was[:middle-from])
			})
		}
	}
	return all, true
}
