package order

import (
	"fmt"
	"slices"

	"fairrun/design/blocks"
	"fairrun/design/lot"
	"fairrun/stats/words"
)

// Fold is the second part of an order: blocks of their own for treatments that the others do not
// hold, the fold-over of a screen above all. Either part is drawn by itself, from the set of orders
// that its own plan allows.
type Fold struct {
	At         []int `json:"at"`         // its blocks among those of the campaign, from 0, ascending
	Treatments []int `json:"treatments"` // of the campaign, from 0: its own treatment t is Treatments[t]

	// Whole is the campaign as one: all treatments, in blocks that hold a part of them, so with Runs
	// in place of Replicates, and Effects of them all, by which they are compared across the parts.
	Whole Spec `json:"whole"`

	// Drawn is the part's own draw, with its own treatments. Its runs at fixed places are those of
	// its own baseline, in place of which the campaign's is run.
	Drawn Drawn `json:"drawn"`
}

// Whole returns the plan that all blocks are of, whenever they were drawn.
func (d *Drawn) Whole() Spec {
	p := d.Plan
	if d.Fold != nil {
		p = d.Fold.Whole
	}
	p.Blocks = len(d.Blocks)
	return p
}

// NextSeed returns the seed from which the next blocks are drawn: it follows the seeds used so far.
func (d *Drawn) NextSeed() uint64 {
	draws := 1 + len(d.Extensions)
	if d.Fold != nil {
		draws += 1 + len(d.Fold.Drawn.Extensions)
	}
	return d.Seed + uint64(draws)
}

// FoldOver adds a second part to an order, which has none yet: f holds At, Treatments, Whole and
// the part's own plan, Drawn.Plan, whose blocks are drawn from the seed. Every other block stands
// in the result unchanged and d is not written to.
//
// The parts are drawn apart, so that the Set of the result holds every order of the one with every
// order of the other, and a randomisation test over it is exact.
func FoldOver(d *Drawn, f Fold, seed uint64) (*Drawn, error) {
	if d.Fold != nil {
		return nil, fmt.Errorf("order: the order has a second part already")
	}
	own, err := Draw(f.Drawn.Plan, seed)
	if err != nil {
		return nil, err
	}
	f.Drawn = *own
	return join(d, &f)
}

// extendFold is Extend of an order of two parts: each block goes to the part that has fewer, the
// first where both have as many. A part that grows takes the next seed.
func (d *Drawn) extendFold(blocks int, seed uint64) (*Drawn, error) {
	first, f := d.first(), *d.Fold
	f.At = slices.Clone(f.At)
	toFirst := 0
	for i := range blocks {
		if len(first.Blocks)+toFirst <= len(f.At) {
			toFirst++
			continue
		}
		f.At = append(f.At, len(d.Blocks)+i)
	}
	if toFirst > 0 {
		longer, err := Extend(first, toFirst, seed)
		if err != nil {
			return nil, err
		}
		first = longer
		seed++
	}
	if toFirst < blocks {
		longer, err := Extend(&f.Drawn, blocks-toFirst, seed)
		if err != nil {
			return nil, err
		}
		f.Drawn = *longer
	}
	return join(first, &f)
}

// first returns the first part of an order of two.
func (d *Drawn) first() *Drawn {
	p := *d
	p.Fold, p.Orders = nil, lot.Count{}
	p.Blocks = nil
	for b, block := range d.Blocks {
		if !slices.Contains(d.Fold.At, b) {
			p.Blocks = append(p.Blocks, block)
		}
	}
	return &p
}

// join puts the blocks of two parts together and says how good they are as one.
func join(first *Drawn, f *Fold) (*Drawn, error) {
	d := *first
	d.Fold = f
	if err := f.check(first, len(first.Blocks)+len(f.Drawn.Blocks)); err != nil {
		return nil, fmt.Errorf("order: %w", err)
	}
	d.Blocks = nil
	roles := f.Whole.Roles()
	rest, own := first.Blocks, f.Drawn.Blocks
	for b := range len(rest) + len(own) {
		if !slices.Contains(f.At, b) {
			d.Blocks, rest = append(d.Blocks, rest[0]), rest[1:]
			continue
		}
		block := slices.Clone(own[0])
		f.name(block, roles)
		d.Blocks, own = append(d.Blocks, block), own[1:]
	}
	d.Orders = lot.Count{}
	if first.Orders != (lot.Count{}) && f.Drawn.Orders != (lot.Count{}) {
		d.Orders = lot.Count{Log10: lot.RoundLog(first.Orders.Log10 + f.Drawn.Orders.Log10)}
	}
	whole := d.Whole()
	q, err := Assess(whole, d.Blocks)
	if err != nil {
		return nil, err
	}
	d.Efficiency = q.Efficiency
	open, _ := whole.slots()
	drawn := make([][]int, len(d.Blocks))
	for b, block := range d.Blocks {
		for _, i := range open {
			drawn[b] = append(drawn[b], block[i])
		}
	}
	d.BlockEfficiency, d.BlockBound = blocks.Efficiency(whole.blocks(), drawn)
	d.BlockEfficiency = roundedDown(d.BlockEfficiency)
	return &d, nil
}

// roundedDown returns 1 for an efficiency that is 1 but for rounding.
func roundedDown(e float64) float64 {
	if e > 1-1e-9 {
		return 1
	}
	return e
}

// name turns the part's own treatments at the positions of a block into the campaign's.
func (f *Fold) name(block []int, roles []Role) {
	for i, t := range block {
		if roles[i] == RoleDrawn {
			block[i] = f.Treatments[t]
		} else {
			block[i] = f.Whole.Baseline
		}
	}
}

// unname is the reverse of name, into a new block; it returns an error for a treatment that is not
// the part's.
func (f *Fold) unname(block []int, roles []Role) ([]int, error) {
	if len(block) != len(roles) {
		return nil, fmt.Errorf("a block has %s, the plan %d", words.Count(len(block), "run"), len(roles))
	}
	own := make([]int, len(block))
	for i, t := range block {
		want := f.Drawn.Plan.Baseline
		if roles[i] == RoleDrawn {
			want = slices.Index(f.Treatments, t)
		} else if t != f.Whole.Baseline {
			want = -1
		}
		if want < 0 {
			return nil, fmt.Errorf("treatment %d at position %d is none of the second part", t, i+1)
		}
		own[i] = want
	}
	return own, nil
}

// check returns an error unless the part fits the first one, in a campaign of so many blocks.
func (f *Fold) check(first *Drawn, blocks int) error {
	own := f.Drawn.Plan
	for i, b := range f.At {
		if b < 0 || b >= blocks || i > 0 && b <= f.At[i-1] {
			return fmt.Errorf("the blocks of the second part are not ascending numbers from 0 to %d", blocks-1)
		}
	}
	for _, t := range f.Treatments {
		if t < 0 || t >= f.Whole.Treatments {
			return fmt.Errorf("treatment %d of the second part is none of the %d of the campaign", t, f.Whole.Treatments)
		}
	}
	switch {
	case len(f.At) != len(f.Drawn.Blocks):
		return fmt.Errorf("the second part has %s at %d places", words.Count(len(f.Drawn.Blocks), "block"), len(f.At))
	case len(f.Treatments) != own.Treatments:
		return fmt.Errorf("the second part names %d of its %d treatments", len(f.Treatments), own.Treatments)
	case first.Plan.Treatments > f.Whole.Treatments || f.Whole.Treatments > first.Plan.Treatments+own.Treatments || f.Whole.Baseline != first.Plan.Baseline:
		return fmt.Errorf("the first part does not fit the whole")
	case !alike(first.Plan, f.Whole) || !alike(own, f.Whole):
		return fmt.Errorf("the parts differ in what stands at their positions")
	case f.Whole.WholePlots != nil && (len(f.Whole.WholePlots) != f.Whole.Treatments || slices.Min(f.Whole.WholePlots) < 0):
		return fmt.Errorf("whole plots are not given for all treatments")
	}
	return f.Whole.checkEffects()
}

// alike reports whether the blocks of two plans have the same roles at their positions.
func alike(p, q Spec) bool {
	return p.Length() == q.Length() && p.Warmup == q.Warmup && slices.Equal(p.Reference, q.Reference)
}

// foldedSet returns the set of orders of two parts.
func (d *Drawn) foldedSet() (*Set, error) {
	first, f := d.first(), d.Fold
	set, err := first.Set()
	if err != nil {
		return nil, err
	}
	own, err := f.Drawn.Set()
	if err != nil {
		return nil, err
	}
	if err := f.check(first, len(d.Blocks)); err != nil {
		return nil, fmt.Errorf("order: the record does not hold together: %w", err)
	}
	set.count = lot.Count{}
	set.fold = &foldedSet{fold: f, roles: f.Whole.Roles(), blocks: len(d.Blocks), own: own}
	for i, b := range f.At {
		block, err := f.unname(d.Blocks[b], set.fold.roles)
		if err != nil || !slices.Equal(block, f.Drawn.Blocks[i]) {
			return nil, fmt.Errorf("order: the record does not hold together: block %d is not as its part was drawn", b+1)
		}
	}
	return set, nil
}

// foldedSet is the second part of a set.
type foldedSet struct {
	fold   *Fold
	roles  []Role
	blocks int // of both parts
	own    *Set
}

// parts divides the blocks of a campaign: rest are those of the first part, in order, and mine those
// of the second, with the campaign's treatments.
func (s *foldedSet) parts(blocks, rest, mine [][]int) ([][]int, [][]int) {
	for b, block := range blocks {
		if _, ours := slices.BinarySearch(s.fold.At, b); ours {
			mine = append(mine, block)
		} else {
			rest = append(rest, block)
		}
	}
	return rest, mine
}

// allows is Set.Allows for the second part; it returns the blocks of the first.
func (s *foldedSet) allows(blocks [][]int) (rest [][]int, err error) {
	if len(blocks) != s.blocks {
		return nil, fmt.Errorf("order has %s, the plan %d", words.Count(len(blocks), "block"), s.blocks)
	}
	rest, mine := s.parts(blocks, nil, nil)
	own := make([][]int, len(mine))
	for i, block := range mine {
		if own[i], err = s.fold.unname(block, s.roles); err != nil {
			return nil, err
		}
	}
	return rest, s.own.Allows(own)
}

// foldSampler draws the second part of an order.
type foldSampler struct {
	set        *foldedSet
	own        *Sampler
	rest, mine [][]int // rows of either part
}

func (s *foldedSet) sampler(src *lot.Stream) *foldSampler {
	if s == nil {
		return nil
	}
	return &foldSampler{set: s, own: s.own.Sampler(src), rest: make([][]int, 0, s.blocks), mine: make([][]int, 0, s.blocks)}
}

// fill fills the blocks of the second part and returns those of the first.
func (m *foldSampler) fill(dst [][]int) (rest [][]int) {
	if len(dst) != m.set.blocks {
		panic(badShape)
	}
	m.rest, m.mine = m.set.parts(dst, m.rest[:0], m.mine[:0])
	m.own.Fill(m.mine)
	for _, block := range m.mine {
		m.set.fold.name(block, m.set.roles)
	}
	return m.rest
}
