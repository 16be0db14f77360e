package order

import "fairrun/design/lot"

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
