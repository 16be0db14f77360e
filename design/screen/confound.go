package screen

import (
	"math/bits"
	"slices"
)

// Blocks of two-level plans. Treatments that are all combinations of m factors, or a regular fraction
// of 2ᵐ, are put into 2^q blocks by q independent contrasts, each of which, with all products of
// theirs, is then lost to differences between blocks: it is confounded (Fisher, R. A. 1942, Annals of
// Eugenics 11; Box, Hunter & Hunter, Statistics for Experimenters, section on blocking). Contrasts are
// chosen so that as few main effects as can be are among them, then as few interactions of two
// factors, then of three. Where treatments come several times over, each set of blocks may confound
// other contrasts, so that none that counts is lost in all.

// twoLevel describes treatments with two levels of each factor that are a whole group of contrasts.
type twoLevel struct {
	m      int      // 2ᵐ treatments
	code   []uint32 // of each treatment, its levels of m basic factors as bits
	effect []uint32 // of each factor, the set of basic factors whose product its contrast is, but for its sign
}

// asTwoLevel returns the structure of treatments, false if they have none: their effects
// must be 0 or 1, no two treatments alike, 2ᵐ in number, and each factor a product of m that
// run in all combinations.
func asTwoLevel(effects [][]float64) (*twoLevel, bool) {
	t := len(effects)
	if t < 4 || t&(t-1) != 0 || len(effects[0]) > t-1 {
		return nil, false
	}
	l := &twoLevel{m: bits.Len(uint(t)) - 1, code: make([]uint32, t)}
	var basic []int
	var space [][]int // columns, as 0 and 1, that products of basic factors give, by their set
	space = append(space, make([]int, t))
	for j := range effects[0] {
		column := make([]int, t)
		ones := 0
		for i, row := range effects {
			if row[j] != 0 && row[j] != 1 {
				return nil, false
			}
			column[i] = int(row[j])
			ones += column[i]
		}
		if 2*ones != t {
			return nil, false
		}
		set := -1
		for s, product := range space {
			if equalOrOpposite(product, column) {
				set = s
			}
		}
		if set < 0 {
			if len(basic) == l.m {
				return nil, false
			}
			set = len(space)
			for i := range t {
				l.code[i] |= uint32(column[i]) << len(basic)
			}
			basic = append(basic, j)
			for _, product := range slices.Clone(space) {
				next := make([]int, t)
				for i := range next {
					next[i] = product[i] ^ column[i]
				}
				space = append(space, next)
			}
		}
		l.effect = append(l.effect, uint32(set))
	}
	codes := slices.Clone(l.code)
	slices.Sort(codes)
	if len(basic) < l.m || len(slices.Compact(codes)) != t {
		return nil, false
	}
	return l, true
}

func equalOrOpposite(x, y []int) bool {
	for i := range x {
		if x[i]^y[i] != x[0]^y[0] {
			return false
		}
	}
	return true
}

// confoundSearch chooses q contrasts.
type confoundSearch struct {
	q     int
	price [][3]int // of each contrast: main effects, interactions of two and of three factors that it is
	best  []uint32 // generators
	cost  [3]int
	left  int // groups that may still be looked at
}

// groupsSearched bounds the groups of contrasts that are looked at for a set of blocks.
const groupsSearched = 300_000

// Confound returns so many blocks of treatments, whose effects are given by treatment, in sets of
// 2^q blocks of which the last may not be whole; nil where the effects are not those of two-level
// factors or the runs of a block are no power of two.
func Confound(effects [][]float64, blocks, runs int) [][]int {
	l, ok := asTwoLevel(effects)
	if !ok || runs < 2 || runs&(runs-1) != 0 || runs >= len(effects) {
		return nil
	}
	sets := len(effects) / runs
	q := bits.Len(uint(sets)) - 1
	price := l.prices()
	times := make([]int, len(price)) // how often a contrast is confounded so far
	var design [][]int
	for len(design) < blocks {
		s := &confoundSearch{q: q, left: groupsSearched}
		for w, c := range price {
			// What is lost once costs more the next time, so that losses are shared out.
			for k := range c {
				c[k] *= 1 + times[w]
			}
			s.price = append(s.price, c)
		}
		s.add(nil, []uint32{0}, [3]int{}, 1)
		for _, w := range span(s.best)[1:] {
			times[w]++
		}
		set := make([][]int, sets)
		for t, code := range l.code {
			b := 0
			for i, w := range s.best {
				b |= bits.OnesCount32(code&w) & 1 << i
			}
			set[b] = append(set[b], t)
		}
		design = append(design, set...)
	}
	return design[:blocks]
}

// prices returns, for each set of basic factors, how many main effects and interactions of two and of
// three factors its contrast is.
func (l *twoLevel) prices() [][3]int {
	price := make([][3]int, 1<<l.m)
	for i, a := range l.effect {
		price[a][0]++
		for j, b := range l.effect[:i] {
			price[a^b][1]++
			for _, c := range l.effect[:j] {
				price[a^b^c][2]++
			}
		}
	}
	return price
}

// span returns all products of generators, none first.
func span(generators []uint32) []uint32 {
	group := []uint32{0}
	for _, g := range generators {
		for _, w := range slices.Clone(group) {
			group = append(group, w^g)
		}
	}
	return group
}

// add goes through the groups that further generators, from one on, make of a group whose price is cost.
// A group can only become dearer.
func (s *confoundSearch) add(generators, group []uint32, cost [3]int, from uint32) {
	if s.best != nil && slices.Compare(cost[:], s.cost[:]) >= 0 {
		return
	}
	if len(generators) == s.q {
		s.best, s.cost = slices.Clone(generators), cost
		return
	}
	for g := from; g < uint32(len(s.price)) && (s.left > 0 || s.best == nil); g++ {
		if slices.Contains(group, g) {
			continue
		}
		s.left--
		more := cost
		larger := slices.Clone(group)
		for _, w := range group {
			larger = append(larger, w^g)
			for k, c := range s.price[w^g] {
				more[k] += c
			}
		}
		s.add(append(slices.Clone(generators), g), larger, more, g+1)
	}
}

// InteractionLoss returns the sum over products of two effects of the share of their information
// that lies between blocks, which among designs that are alike in main effects should be small; 0 without
// effects or where they are too many for it to be looked at.
func InteractionLoss(effects [][]float64, blocks [][]int) float64 {
	if effects == nil || len(effects[0]) > mostInteracting {
		return 0
	}
	x := make([]float64, len(effects))
	columns := len(effects[0])
	mean := make([]float64, columns)
	for _, row := range effects {
		for j, v := range row {
			mean[j] += v / float64(len(effects))
		}
	}
	var sum float64
	for i := range columns {
		for j := range i {
			for t, row := range effects {
				x[t] = float64((row[i] - mean[i]) * (row[j] - mean[j]))
			}
			if between, within := betweenAndWithin(x, blocks); between > negligibleShare*(between+within) {
				sum += between / (between + within)
			}
		}
	}
	return sum
}

// mostInteracting is the most effects whose products are looked at.
const mostInteracting = 24
