package order

import "fairrun/design/lot"

// within puts the runs of each block in random order. It belongs to one goroutine.
type within interface {
	// shuffle draws the order of a part, which holds blocks from a given one on.
	shuffle(src *lot.Stream, from int, part []int32)
	// exchanges returns exchanges of neighbours in the order of all blocks, of which some sequence leads
	// to every order as likely as to every other; known is false if there are none such.
	exchanges(order []int32) (all []exchange, known bool)
}

// runsWithin draws any order of the runs of a block, of which there are so many.
type runsWithin int

func (n runsWithin) shuffle(src *lot.Stream, _ int, part []int32) {
	for at := 0; at < len(part); at += int(n) {
		lot.Shuffle(src, part[at:at+int(n)])
	}
}

func (n runsWithin) exchanges(order []int32) (all []exchange, known bool) {
	for at := range order {
		if at%int(n) > 0 {
			all = append(all, func(x []byte) { x[at-1], x[at] = x[at], x[at-1] })
		}
	}
	return all, true
}
