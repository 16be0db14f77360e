package order

import (
	"math"

	"fairrun/design/lot"
	"fairrun/design/order/internal/loss"
)

// Sampler draws from a Set. It belongs to one goroutine.
type Sampler struct {
	set *Set
	src *lot.Stream

	// The draw: the design put in order, and what is then exchanged.
	flat  []int32
	name  []int32 // new name of each treatment
	block []int   // place of each block
	slot  []int   // position of each column of the design

	work []*loss.Scratch // one for each stage
	plot []*loss.Scratch // the same for whole plots, nil where they are not judged
	kept []int32         // best blocks of an extension so far
	turn []int

	sessions []int
	open     []int // positions of drawn runs
	last     Spec
	fold     *foldSampler // of a second part, nil without one
	within   []within     // of each stage
	names    naming
	stretch  int // of positions that change places together
}

// Sampler returns a sampler of the set that takes its random numbers from src.
func (s *Set) Sampler(src *lot.Stream) *Sampler {
	p := s.last().plan
	n := p.runsPerBlock()
	m := &Sampler{
		set: s, src: src, last: p, fold: s.fold.sampler(src),
		flat:  make([]int32, p.runs()),
		name:  make([]int32, p.Treatments),
		block: lot.Identity(p.Blocks),
		slot:  lot.Identity(n),
		kept:  make([]int32, p.runs()),
		turn:  make([]int, n),
	}
	m.names, m.stretch = s.stages[0].kind.names(), s.stages[0].kind.stretch(&s.stages[0])
	for i := range s.stages {
		m.work = append(m.work, s.stages[i].unit.Scratch())
		m.within = append(m.within, s.stages[i].kind.within(&s.stages[i]))
		m.plot = append(m.plot, nil)
		if g := s.stages[i].between; g != nil {
			m.plot[i] = g.Scratch()
		}
	}
	for t := range m.name {
		m.name[t] = int32(t)
	}
	if p.Session > 0 {
		m.sessions = make([]int, p.Blocks/p.Session)
	}
	m.open, _ = p.slots()
	return m
}

// Fill fills dst, of one row a block and one element a position, with an allowed order, drawn as
// Draw does. It allocates nothing. It panics if dst has another shape.
func (m *Sampler) Fill(dst [][]int) {
	if m.fold != nil {
		dst = m.fold.fill(dst)
	}
	if len(dst) != m.last.Blocks {
		panic(badShape)
	}
	for _, row := range dst {
		if len(row) != m.last.Length() {
			panic(badShape)
		}
	}
	m.exchange()
	for i := range m.set.stages {
		for !m.draw(i) {
		}
	}
	m.write(dst)
}

const badShape = "order: Fill needs one row for each block and one element for each position"

// exchange draws new names for treatments and new positions for columns of the design: stretches of runs
// change places, and the runs within each.
func (m *Sampler) exchange() {
	m.names.draw(m.src, m.name)
	k := m.stretch
	if k == 0 {
		return
	}
	turn := m.turn[:len(m.slot)/k]
	for i := range turn {
		turn[i] = i
	}
	lot.Shuffle(m.src, turn)
	for i, to := range turn {
		part := m.slot[i*k : (i+1)*k]
		for j := range part {
			part[j] = to*k + j
		}
		lot.Shuffle(m.src, part)
	}
}

// draw draws the blocks of a stage, an allowed order of each and the order of the blocks. It
// reports false if it was given up since unitTries candidates failed, which happens only for
// thresholds that Draw has not set.
func (m *Sampler) draw(i int) bool {
	s := &m.set.stages[i]
	switch {
	case s.bestOf > 0:
		m.best(i)
	case s.each > 0:
		for b := s.from; b < s.plan.Blocks; b++ {
			if !m.unit(i, b, b+1) {
				return false
			}
		}
	default:
		if !m.unit(i, s.from, s.plan.Blocks) {
			return false
		}
	}
	if s.kind.searched() {
		m.shuffleBlocks(s)
	}
	return true
}

// unitTries bounds the candidates for one unit. Draw allows one in 20 at least.
const unitTries = 100_000

// unit draws candidates for blocks from to before to until one is allowed.
func (m *Sampler) unit(i, from, to int) bool {
	for range unitTries {
		if m.candidate(i, from, to) {
			return true
		}
	}
	return false
}

// best draws the candidates for the blocks of an extension and leaves the one with the least loss,
// the first if all are alike.
func (m *Sampler) best(i int) {
	s := &m.set.stages[i]
	n := s.plan.runsPerBlock()
	all, part := m.flat[:s.plan.runs()], m.flat[s.from*n:s.plan.runs()]
	least := math.Inf(1)
	for try := range s.bestOf {
		m.candidate(i, s.from, s.plan.Blocks)
		// As in limitAt, losses that are equal but for rounding are alike.
		lost := s.unit.Loss(all, m.work[i])
		if s.between != nil {
			lost += s.between.Loss(all, m.plot[i])
		}
		if try == 0 || lost < least*(1-1e-9)-1e-12 {
			least = lost
			copy(m.kept, part)
		}
	}
	copy(part, m.kept)
}

// candidate puts blocks from to before to of a stage in an order regardless of drift and reports
// whether it is allowed.
func (m *Sampler) candidate(i, from, to int) bool {
	s := &m.set.stages[i]
	n := s.plan.runsPerBlock()
	part := m.flat[from*n : to*n]
	copy(part, s.first[from*n:to*n])
	if w := m.within[i]; w != nil {
		w.shuffle(m.src, from, part)
	}
	if s.between != nil && s.bestOf == 0 && !s.between.Within(m.flat[:to*n], s.plotLimit, m.plot[i]) {
		return false
	}
	if s.each == 0 {
		part = m.flat[:to*n]
	}
	return s.scope == Everything || s.bestOf > 0 || s.unit.Within(part, s.limit, m.work[i])
}

// write writes the draw into dst.
func (m *Sampler) write(dst [][]int) {
	n := m.last.runsPerBlock()
	for b := range m.block {
		row := dst[m.block[b]]
		if len(m.open) < len(row) {
			for i := range row {
				row[i] = m.last.Baseline
			}
		}
		for i, t := range m.flat[b*n : (b+1)*n] {
			row[m.open[m.slot[i]]] = int(m.name[t])
		}
	}
}
