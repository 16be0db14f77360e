package order

import (
	"iter"
	"math"
)

// List returns every order of the set, in a fixed sequence, each of them as likely as the others when
// drawn, if they can be listed and are at most so many. The slice it yields is overwritten by the next.
//
// What a draw exchanges is a group that acts on orders: runs and whole plots within blocks, then
// names of treatments, blocks and positions. So all orders it leads to are as likely, and those are kept
// that the threshold allows, which the exchange of names, blocks and positions does not touch. They
// are found by making every exchange of two neighbours in every order found so far. Not listed are
// Latin squares of more than three treatments, of which the walk that draws them may favour some, or
// several of them, extensions, and fold-overs in blocks of their own.
func (s *Set) List(most int) (orders iter.Seq[[][]int], known bool) {
	if n := s.count.Exact; n > 0 {
		return s.Enumerate(), n <= uint64(most)
	}
	if s.fold != nil || len(s.stages) != 1 {
		return nil, false
	}
	g := &s.stages[0]
	if g.squares > 1 || g.squares == 1 && g.plan.Treatments > 3 ||
		g.allOrders(g.plan.Blocks).Log10 > math.Log10(mostListed) {
		return nil, false
	}
	first := make([]byte, len(g.first))
	for i, t := range g.first {
		first[i] = byte(t)
	}
	all, known := reach([]string{string(first)}, g.exchangesWithin())
	if !known {
		return nil, false
	}
	allowed := all[:0]
	w := g.unit.Scratch()
	flat := make([]int32, len(g.first))
	for _, order := range all {
		for i := range order {
			flat[i] = int32(order[i])
		}
		kept := true
		for part := range g.units(flat) {
			kept = kept && (g.scope == Everything || g.unit.Within(part, g.limit, w))
		}
		if kept && g.between != nil {
			kept = g.between.Within(flat, g.plotLimit, g.between.Scratch())
		}
		if kept {
			allowed = append(allowed, order)
		}
	}
	if allowed, known = reach(allowed, g.exchangesBetween()); !known {
		return nil, false
	}
	if len(allowed) > most {
		return nil, false
	}
	return func(yield func([][]int) bool) {
		dst := newBlocks(g.plan)
		n := g.plan.runsPerBlock()
		open, _ := g.plan.slots()
		for _, order := range allowed {
			for b, row := range dst {
				for i := range row {
					row[i] = g.plan.Baseline
				}
				for i, at := range open {
					row[at] = int(order[b*n+i])
				}
			}
			if !yield(dst) {
				return
			}
		}
	}, true
}

// mostListed bounds the orders that are looked at, allowed or not.
const mostListed = 50_000

// exchange makes an exchange in an order, which holds a treatment at each position that is drawn.
type exchange func(order []byte)

// reach returns all orders that exchanges lead to from some; known is false if they are more than
// mostListed.
func reach(orders []string, exchanges []exchange) (all []string, known bool) {
	all = append(all, orders...)
	seen := map[string]bool{}
	for _, order := range all {
		seen[order] = true
	}
	for at := 0; at < len(all); at++ {
		for _, exchange := range exchanges {
			next := []byte(all[at])
			exchange(next)
			if order := string(next); !seen[order] {
				if len(all) == mostListed {
					return nil, false
				}
				seen[order] = true
				all = append(all, order)
			}
		}
	}
	return all, true
}

// exchangesWithin returns exchanges of runs and whole plots next to each other in a block.
func (s *stage) exchangesWithin() []exchange {
	n := s.plan.runsPerBlock()
	var all []exchange
	switch s.plan.kind() {
	case kindComplete, kindIncomplete:
		for at := range s.first {
			if at%n > 0 {
				all = append(all, func(x []byte) { x[at-1], x[at] = x[at], x[at-1] })
			}
		}
	case kindWholePlots:
		all = s.plotExchanges()
	case kindSplit:
		if !s.fixedWithin() {
			all = s.plotExchanges()
		}
	}
	return all
}

// exchangesBetween returns exchanges of names, blocks and positions next to each other.
func (s *stage) exchangesBetween() []exchange {
	p, n := s.plan, s.plan.runsPerBlock()
	if p.kind() < kindIncomplete {
		return nil
	}
	var all []exchange
	add := func(e exchange) { all = append(all, e) }
	columns := func(i, j, width int) { // so many from i on and from j on
		add(func(x []byte) {
			for b := 0; b < len(x); b += n {
				exchangeBytes(x[b+i:b+i+width], x[b+j:b+j+width])
			}
		})
	}
	switch k := s.commonLength; {
	case p.kind() == kindRows:
		for i := 1; i < n; i++ {
			columns(i-1, i, 1)
		}
	case p.kind() == kindSplit && k > 0 && p.Drift == Position && !p.CarryOver:
		for i := 1; i < n; i++ {
			if i%k > 0 {
				columns(i-1, i, 1)
			} else {
				columns(i-k, i, k)
			}
		}
	}
	for b := 1; b < p.Blocks; b++ {
		if p.Session == 0 || b%p.Session > 0 {
			add(func(x []byte) { exchangeBytes(x[(b-1)*n:b*n], x[b*n:(b+1)*n]) })
		}
	}
	if m := p.Session * n; m > 0 {
		for at := m; at+m <= len(s.first); at += m {
			add(func(x []byte) { exchangeBytes(x[at-m:at], x[at:at+m]) })
		}
	}
	for _, to := range s.nameExchanges() {
		add(func(x []byte) {
			for i, t := range x {
				x[i] = to[t]
			}
		})
	}
	return all
}

// nameExchanges returns, as the new name of each treatment, exchanges of names that together make up
// all that are drawn.
func (s *stage) nameExchanges() [][]byte {
	p := s.plan
	if p.Effects != nil {
		return nil
	}
	var all [][]byte
	add := func(x, y []int) { // treatments x with y
		to := make([]byte, p.Treatments)
		for t := range to {
			to[t] = byte(t)
		}
		for i := range x {
			to[x[i]], to[y[i]] = byte(y[i]), byte(x[i])
		}
		all = append(all, to)
	}
	if p.kind() == kindSplit {
		settings := newNaming(p)
		for _, alike := range settings.alike {
			for i, h := range alike {
				of := settings.settings[h]
				for k := 1; k < len(of); k++ {
					add(of[k-1:k], of[k:k+1])
				}
				if i > 0 {
					add(settings.settings[alike[i-1]], of)
				}
			}
		}
		return all
	}
	last := -1
	for t := range p.Treatments {
		if p.fixedBaseline() && t == p.Baseline {
			continue
		}
		if last >= 0 {
			add([]int{last}, []int{t})
		}
		last = t
	}
	return all
}

// plotExchanges returns exchanges of whole plots next to each other, and of runs within them.
func (s *stage) plotExchanges() []exchange {
	n := s.plan.runsPerBlock()
	plot := func(t byte) int { return s.plan.WholePlots[t] }
	var all []exchange
	for at := range s.first {
		if at%n == 0 {
			continue
		}
		all = append(all, func(x []byte) {
			if plot(x[at-1]) == plot(x[at]) {
				x[at-1], x[at] = x[at], x[at-1]
			}
		})
	}
	for b := 0; b < len(s.first); b += n {
		for i := range s.plan.plotsPerBlock() - 1 {
			all = append(all, func(x []byte) { // the i-th whole plot of a block and the next
				block := x[b : b+n]
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
	return all
}

func exchangeBytes(x, y []byte) {
	for i := range x {
		x[i], y[i] = y[i], x[i]
	}
}
