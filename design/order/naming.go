package order

import "fairrun/design/lot"

// naming draws new names for treatments: those of one setting exchange names, and so do settings that are
// alike. Without whole plots all treatments are of one setting. The zero value exchanges nothing.
type naming struct {
	alike [][][]int // settings that exchange names, each of its treatments
	turn  []int
	to    []int
}

// newNaming lets settings of as many treatments exchange names.
func newNaming(settings ...[]int) naming {
	var n naming
	for size := 1; len(n.turn) < len(settings); size++ {
		var alike [][]int
		for _, treatments := range settings {
			if len(treatments) == size {
				alike = append(alike, treatments)
			}
		}
		if alike != nil {
			n.alike = append(n.alike, alike)
			n.turn = append(n.turn, make([]int, len(alike))...)
			n.to = make([]int, size)
		}
	}
	return n
}

// draw sets the new names of treatments that exchange theirs.
func (n naming) draw(src *lot.Stream, name []int32) {
	for _, group := range n.alike {
		turn := n.turn[:len(group)]
		for i := range turn {
			turn[i] = i
		}
		if len(turn) > 1 {
			lot.Shuffle(src, turn)
		}
		for i, setting := range group {
			to := n.to[:len(setting)]
			copy(to, group[turn[i]])
			lot.Shuffle(src, to)
			for k, t := range setting {
				name[t] = int32(to[k])
			}
		}
	}
}

// count returns the number of ways to exchange names.
func (n naming) count() lot.Count {
	c := lot.Count{Exact: 1}
	for _, group := range n.alike {
		for _, setting := range group {
			c = c.Times(lot.Factorial(len(setting)))
		}
		c = c.Times(lot.Factorial(len(group)))
	}
	return c
}

// exchanges returns exchanges of names that together make up all that are drawn.
func (n naming) exchanges() (all []exchange) {
	add := func(x, y []int) { // treatments x with y
		to := make([]byte, 256)
		for t := range to {
			to[t] = byte(t)
		}
		for i := range x {
			to[byte(x[i])], to[byte(y[i])] = byte(y[i]), byte(x[i])
		}
		all = append(all, func(order []byte) {
			for i, t := range order {
				order[i] = to[t]
			}
		})
	}
	for _, group := range n.alike {
		for i, setting := range group {
			for k := 1; k < len(setting); k++ {
				add(setting[k-1:k], setting[k:k+1])
			}
			if i > 0 {
				add(group[i-1], setting)
			}
		}
	}
	return all
}
