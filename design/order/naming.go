package order

import (
	"maps"
	"slices"

	"fairrun/design/lot"
)

// namings returns the number of ways to exchange the names of treatments that leave a design as
// good as it is: all, unless whole plots stay together, or treatments are not alike.
func (p Spec) namings() lot.Count {
	if p.kind() != kindSplit {
		return lot.Factorial(p.Treatments)
	}
	c := lot.Count{Exact: 1}
	if p.Effects != nil {
		return c
	}
	like := map[int]int{} // settings by their number of treatments
	for _, s := range p.settings() {
		like[len(s)]++
		c = c.Times(lot.Factorial(len(s)))
	}
	for _, settings := range slices.Sorted(maps.Values(like)) {
		c = c.Times(lot.Factorial(settings))
	}
	return c
}

// fixedBaseline reports whether the baseline keeps its name: where its reference runs count in the
// loss by which orders are kept.
func (p Spec) fixedBaseline() bool {
	return len(p.Reference) > 0 && p.scope() != Everything
}

// naming draws new names for treatments where settings of whole plots stay what they are: settings
// with as many treatments are exchanged, and treatments within each.
type naming struct {
	settings [][]int // treatments of each setting
	alike    [][]int // settings with as many treatments
	turn     []int
	to       []int
}

func newNaming(p Spec) *naming {
	n := &naming{settings: p.settings(), turn: make([]int, p.Treatments), to: make([]int, p.Treatments)}
	for size := 1; size <= p.Treatments; size++ {
		var alike []int
		for h, s := range n.settings {
			if len(s) == size {
				alike = append(alike, h)
			}
		}
		if alike != nil {
			n.alike = append(n.alike, alike)
		}
	}
	return n
}

// draw fills name.
func (n *naming) draw(src *lot.Stream, name []int32) {
	for _, alike := range n.alike {
		turn := n.turn[:len(alike)]
		copy(turn, alike)
		lot.Shuffle(src, turn)
		for i, h := range alike {
			to := n.to[:len(n.settings[h])]
			copy(to, n.settings[turn[i]])
			lot.Shuffle(src, to)
			for k, t := range n.settings[h] {
				name[t] = int32(to[k])
			}
		}
	}
}
