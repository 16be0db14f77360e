package order

import "fairrun/design/lot"

// naming draws new names for treatments: those of one setting exchange names, and so do settings that are
// alike. Without whole plots all treatments are of one setting. The zero value exchanges nothing.
type naming struct {
	alike [][][]int32 // settings that exchange names, each of its treatments
	turn  []int
	to    []int32
}

func newNaming(alike [][][]int32) naming {
	settings, treatments := 0, 0
	for _, group := range alike {
		settings, treatments = max(settings, len(group)), max(treatments, len(group[0]))
	}
	return naming{alike, make([]int, settings), make([]int32, treatments)}
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
				name[t] = to[k]
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
	add := func(x, y []int32) { // treatments x with y
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
