package order

import (
	"iter"
	"slices"

	"fairrun/design/lot"
)

// Count returns the number of orders in the set, which Drawn holds too. It is exact when all orders
// can be listed.
func (s *Set) Count() lot.Count { return s.count }

// Enumerate returns every order of the set, in a fixed sequence. The slice it yields is overwritten by the
// next. It panics if the set's Count is not exact.
func (s *Set) Enumerate() iter.Seq[[][]int] {
	return func(yield func([][]int) bool) {
		names := make([]int32, s.plan.Treatments)
		open, _ := s.plan.slots()
		for order := range s.Representatives() {
			base := make([][]int, len(order))
			for b, row := range order {
				base[b] = slices.Clone(row)
			}
			for t := range names {
				names[t] = int32(t)
			}
			for more := true; more; more = lot.NextPermutation(names) {
				for b, row := range base {
					for _, i := range open {
						order[b][i] = int(names[row[i]])
					}
				}
				if !yield(order) {
					return
				}
			}
		}
	}
}

// Representatives returns one order from each class of the set's orders that differ only by
// exchanging the names of treatments, in a fixed sequence: the one in whose first block treatments
// first appear in the order 0, 1, 2, …. Every class has T! orders, so a statistic that does not
// depend on names has the same distribution over Representatives as over Enumerate. The slice it
// yields is overwritten by the next. It panics if the set's Count is not exact.
func (s *Set) Representatives() iter.Seq[[][]int] {
	if s.count.Exact == 0 {
		panic(notCounted)
	}
	return func(yield func([][]int) bool) {
		g := &s.stages[0]
		dst := newBlocks(s.plan)
		open, _ := s.plan.slots()
		orders := g.allowedClasses()
		if g.scope == EachBlock {
			orders = g.products()
		}
		for flat := range orders {
			place(dst, flat, open, s.plan.Baseline)
			if !yield(dst) {
				return
			}
		}
	}
}

// place writes the runs of an order into blocks, at the positions that are open, and the baseline elsewhere.
func place[T byte | int32](dst [][]int, flat []T, open []int, baseline int) {
	for b, row := range dst {
		for i := range row {
			row[i] = baseline
		}
		for i, at := range open {
			row[at] = int(flat[b*len(open)+i])
		}
	}
}

const notCounted = "order: the set has too many orders to list them"

// classes yields one arrangement of each class of the unit, allowed or not: those whose first
// block is standard, followed by every arrangement of the others.
func (s *stage) classes() iter.Seq[[]int32] {
	p, n := s.plan, s.plan.runsPerBlock()
	blocks := p.Blocks
	if s.each > 0 {
		blocks = 1
	}
	return func(yield func([]int32) bool) {
		flat := slices.Clone(s.first[:blocks*n])
		for _, first := range lot.StandardArrangements(p.Treatments, p.Replicates) {
			copy(flat, first)
			for {
				if !yield(flat) {
					return
				}
				b := blocks - 1
				for b > 0 && !lot.NextPermutation(flat[b*n:(b+1)*n]) {
					b--
				}
				if b == 0 {
					break
				}
			}
		}
	}
}

// allowedClasses yields the classes of the unit that keep within the threshold.
func (s *stage) allowedClasses() iter.Seq[[]int32] {
	return func(yield func([]int32) bool) {
		w := s.unit.Scratch()
		for unit := range s.classes() {
			if (s.scope == Everything || s.unit.Within(unit, s.limit, w)) && !yield(unit) {
				return
			}
		}
	}
}

// products yields every campaign of allowed blocks whose first block is standard.
func (s *stage) products() iter.Seq[[]int32] {
	var standard, all [][]int32
	names := make([]int32, s.plan.Treatments)
	for block := range s.allowedClasses() {
		standard = append(standard, slices.Clone(block))
		for t := range names {
			names[t] = int32(t)
		}
		for more := true; more; more = lot.NextPermutation(names) {
			named := make([]int32, len(block))
			for i, t := range block {
				named[i] = names[t]
			}
			all = append(all, named)
		}
	}
	n := s.plan.runsPerBlock()
	return func(yield func([]int32) bool) {
		flat := make([]int32, len(s.first))
		choice := make([]int, s.plan.Blocks)
		for {
			copy(flat, standard[choice[0]])
			for b, c := range choice[1:] {
				copy(flat[(b+1)*n:], all[c])
			}
			if !yield(flat) {
				return
			}
			b := len(choice) - 1
			for b > 0 && choice[b] == len(all)-1 {
				choice[b] = 0
				b--
			}
			choice[b]++
			if choice[0] == len(standard) {
				return
			}
		}
	}
}
