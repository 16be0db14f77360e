package order

import (
	"math"

	"fairrun/design/blocks"
	"fairrun/design/internal/information"
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
	tmp  []int32
	turn []int

	sessions []int
	open     []int // positions of drawn runs
	latin    *blocks.Latin
	last     Spec
	fold     *foldSampler // of a second part, nil without one
	names    *naming      // where settings of whole plots are kept
	sizes    []int        // runs of each whole plot of a block
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
		tmp:   make([]int32, n),
		turn:  make([]int, p.Treatments),
	}
	for i := range s.stages {
		m.work = append(m.work, s.stages[i].unit.Scratch())
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
	if p.kind() == kindRows {
		m.latin = blocks.NewLatin(p.Treatments)
	}
	if p.kind() == kindSplit {
		m.names = newNaming(p)
		m.sizes = make([]int, 0, p.Treatments)
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

// exchange draws new names for treatments and new positions for columns, where the kind of plan has them.
func (m *Sampler) exchange() {
	switch m.last.kind() {
	case kindIncomplete, kindCarryOver:
		if m.last.Effects == nil { // otherwise treatments are not alike
			m.shuffleNames()
		}
	case kindSplit:
		if m.last.Effects == nil {
			m.names.draw(m.src, m.name)
		}
		if m.last.Drift == Position && !m.last.CarryOver {
			m.shufflePlotSlots()
		}
	case kindRows:
		m.shuffleNames()
		for i := range m.slot {
			m.slot[i] = i
		}
		lot.Shuffle(m.src, m.slot)
	}
}

func (m *Sampler) shuffleNames() {
	for t := range m.name {
		m.name[t] = int32(t)
	}
	if m.last.fixedBaseline() {
		b := m.last.Baseline
		last := len(m.name) - 1
		m.name[b], m.name[last] = m.name[last], m.name[b]
		lot.Shuffle(m.src, m.name[:last])
		m.name[b], m.name[last] = m.name[last], m.name[b]
		return
	}
	lot.Shuffle(m.src, m.name)
}

// shufflePlotSlots draws new places for the whole plots of all blocks, and for the runs within
// them, where all whole plots are of one length.
func (m *Sampler) shufflePlotSlots() {
	s := &m.set.stages[0]
	k := s.commonLength
	if k == 0 {
		return
	}
	w := len(m.slot) / k
	for i := range w {
		m.turn[i] = i
	}
	lot.Shuffle(m.src, m.turn[:w])
	for i, to := range m.turn[:w] {
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
	m.shuffleBlocks(s)
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

// shuffleBlocks draws the places of the blocks of a stage where the kind of plan exchanges them.
func (m *Sampler) shuffleBlocks(s *stage) {
	if s.plan.kind() >= kindIncomplete {
		order := m.block[s.from:s.plan.Blocks]
		for b := range order {
			order[b] = s.from + b
		}
		if s.plan.Session > 0 {
			m.shuffleSessions(s, order)
			return
		}
		lot.Shuffle(m.src, order)
	}
}

// candidate puts blocks from to before to of a stage in an order regardless of drift and reports
// whether it is allowed.
func (m *Sampler) candidate(i, from, to int) bool {
	s := &m.set.stages[i]
	n := s.plan.runsPerBlock()
	part := m.flat[from*n : to*n]
	copy(part, s.first[from*n:to*n])
	switch s.plan.kind() {
	case kindComplete, kindIncomplete:
		for at := 0; at < len(part); at += n {
			lot.Shuffle(m.src, part[at:at+n])
		}
	case kindWholePlots:
		for range unitTries {
			for at := 0; at < len(part); at += n {
				s.shuffleWholePlots(m.src, part[at:at+n], s.plots, m.tmp, m.turn)
			}
			if s.between == nil || s.bestOf > 0 || s.between.Within(m.flat[:to*n], s.plotLimit, m.plot[i]) {
				break
			}
			copy(part, s.first[from*n:to*n])
		}
	case kindSplit:
		if s.fixedWithin() {
			break
		}
		for at := 0; at < len(part); at += n {
			block := part[at : at+n]
			m.sizes = m.sizes[:0]
			for from, to := range information.WholePlots(s.plan.WholePlots, block) {
				m.sizes = append(m.sizes, to-from)
			}
			s.shuffleWholePlots(m.src, block, m.sizes, m.tmp, m.turn)
		}
	case kindRows:
		if s.squares > 0 {
			s.drawSquares(m.src, m.latin, part)
		}
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
