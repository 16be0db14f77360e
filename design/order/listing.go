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
	if g.allOrders(g.plan.Blocks).Log10 > math.Log10(mostListed) {
		return nil, false
	}
	var within []exchange
	if w := g.kind.within(g); w != nil {
		if within, known = w.exchanges(g.first); !known {
			return nil, false
		}
	}
	first := make([]byte, len(g.first))
	for i, t := range g.first {
		first[i] = byte(t)
	}
	all, known := reach([]string{string(first)}, within)
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
		open, _ := g.plan.slots()
		for _, order := range allowed {
			place(dst, []byte(order), open, g.plan.Baseline)
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

// exchangesBetween returns exchanges of names, blocks and positions next to each other.
func (s *stage) exchangesBetween() []exchange {
	if !s.kind.searched() {
		return nil
	}
	n, session := s.plan.runsPerBlock(), s.plan.session()
	var all []exchange
	add := func(e exchange) { all = append(all, e) }
	columns := func(i, j, width int) { // so many from i on and from j on
		add(func(x []byte) {
			for b := 0; b < len(x); b += n {
				exchangeBytes(x[b+i:b+i+width], x[b+j:b+j+width])
			}
		})
	}
	if k := s.kind.stretch(s); k > 0 {
		for i := 1; i < n; i++ {
			if i%k > 0 {
				columns(i-1, i, 1)
			} else {
				columns(i-k, i, k)
			}
		}
	}
	for b := 1; b < s.plan.Blocks; b++ {
		if b%session > 0 {
			add(func(x []byte) { exchangeBytes(x[(b-1)*n:b*n], x[b*n:(b+1)*n]) })
		}
	}
	m := session * n
	for at := m; at+m <= len(s.first); at += m {
		add(func(x []byte) { exchangeBytes(x[at-m:at], x[at:at+m]) })
	}
	return append(all, s.kind.names().exchanges()...)
}

func exchangeBytes(x, y []byte) {
	for i := range x {
		x[i], y[i] = y[i], x[i]
	}
}
