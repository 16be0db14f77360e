package blocks

import (
	"slices"

	"fairrun/design/lot"
)

// Reference runs stand at fixed positions, so that what runs beside them depends on positions alone.
// They are taken as neighbours of a kind of their own, not as the baseline's: all treatments are then
// alike, names can be exchanged freely, and no treatment is kept away from a position for the
// sake of its neighbours there. First, treatments are spread over the positions as evenly as can be:
// blocks are rows of Latin squares, and of what is left of one. Second, neighbours among the runs that
// are drawn are balanced, by exchanging columns of those squares, and rows for others of their square,
// none of which changes the first. What is given up: the baseline may run right beside a reference
// run of itself, as often as another treatment would.

// columnSearch exchanges columns and rows of Latin squares to lower
//
//	Σ over i ≠ j of follows(i, j)² + self·Σ follows(i, i).
type columnSearch struct {
	treatments, length int
	adjacent           []bool // whether no fixed run stands between position i and the one before it
	squares            [][][]int
	form               [][]int // Williams squares
	used               []int   // rows of each square that are run; the others are spare
	follows            []int
	self               int
}

// Steps that are looked at in all, in runs beside which neighbours change, and starts; squares of
// more treatments than columnLatin are of the Williams form at all starts, and those of more than
// columnSpare have no spare rows.
const (
	columnWork   = 12_000_000
	columnStarts = 12
	columnLatin  = 16
	columnSpare  = 64
)

// AroundReference returns blocks with reference runs, the given ones first. Incomplete ones are
// chosen for their comparisons and arranged for even positions, and only their columns exchanged.
func AroundReference(p Spec, given [][]int, positions bool) ([][]int, error) {
	s := newColumnSearch(p)
	src := lot.New(0, lot.StreamSearch)
	fresh := p.Blocks - len(given)
	if p.Runs > 0 {
		blocks, err := Incomplete(p, given)
		if err != nil {
			return nil, err
		}
		arrangePositions(p.Treatments, blocks, len(given))
		s.squares, s.used = [][][]int{blocks[len(given):]}, []int{fresh}
	} else {
		s.form = williams(p.Treatments)
		s.allot(fresh)
	}
	s.count(given)
	fixed := slices.Clone(s.follows)
	var best [][]int
	bestCost := 0
	rows := 0
	for _, used := range s.used {
		rows += used
	}
	steps := max(1, columnWork/columnStarts/(8*max(1, min(rows, p.Treatments))))
	for start := range columnStarts {
		if p.Runs == 0 {
			s.fill(p, start, src)
		}
		copy(s.follows, fixed)
		s.count(s.blocks())
		keep := func(cost int) {
			if best != nil && cost >= bestCost {
				return
			}
			if blocks := s.blocks(); best == nil || toldByPosition(p, append(slices.Clone(given), blocks...), positions) {
				best, bestCost = Clone(blocks), cost
			}
		}
		s.descend(src, steps, keep)
		if bestCost == 0 {
			break
		}
	}
	return append(slices.Clone(given), best...), nil
}

// toldByPosition reports whether drift over the positions, if that is what the plan has, leaves all
// comparisons between treatments.
func toldByPosition(p Spec, blocks [][]int, positions bool) bool {
	return !positions || rowColumnCost(p.Treatments, blocks) < 1e299
}

func newColumnSearch(p Spec) *columnSearch {
	s := &columnSearch{treatments: p.Treatments, length: p.runsPerBlock(), adjacent: p.Adjacent, follows: make([]int, p.Treatments*p.Treatments)}
	s.self = 4 * (p.Blocks*s.length/(p.Treatments*(p.Treatments-1)) + 2)
	return s
}

// allot makes room for squares of which so many rows are run.
func (s *columnSearch) allot(rows int) {
	for left := rows; left > 0; left -= s.treatments {
		used := min(left, s.treatments)
		s.used = append(s.used, used)
		if s.treatments > columnSpare {
			s.squares = append(s.squares, make([][]int, used))
		} else {
			s.squares = append(s.squares, make([][]int, s.treatments))
		}
	}
}

// fill fills squares, side by side for several replicates: at the first start and for many treatments of the
// Williams form, in which half of them are reversed if there are an odd number of treatments;
// otherwise drawn.
func (s *columnSearch) fill(p Spec, start int, src *lot.Stream) {
	t := s.treatments
	l := (*Latin)(nil)
	if start > 0 && t <= columnLatin {
		l = NewLatin(t)
	}
	for q, square := range s.squares {
		for r := range square {
			square[r] = square[r][:0]
		}
		for rep := range p.Replicates {
			if l != nil {
				l.Draw(src)
			}
			for r := range square {
				if l != nil {
					square[r] = append(square[r], l.Square[r*t:(r+1)*t]...)
				} else {
					square[r] = append(square[r], s.form[(q*t+r+rep)%len(s.form)]...)
				}
			}
		}
		if start == 0 && t%2 == 1 && p.Replicates > 1 {
			// A row of one half beside one of the other would hold a treatment twice at a position.
			for r := range square {
				for rep := range p.Replicates {
					copy(square[r][rep*t:], s.form[(r+rep)%t])
				}
			}
		}
	}
}

// blocks returns the rows that are run.
func (s *columnSearch) blocks() [][]int {
	var rows [][]int
	for q, square := range s.squares {
		rows = append(rows, square[:s.used[q]]...)
	}
	return rows
}

// count adds the neighbours of blocks.
func (s *columnSearch) count(blocks [][]int) {
	for _, block := range blocks {
		s.row(block, 1)
	}
}

func (s *columnSearch) row(block []int, by int) int {
	change := 0
	for i := range block {
		change += s.pair(block, i, by)
	}
	return change
}

// pair adds by to the count of the run at position i and the one before it, and returns the change of the cost.
func (s *columnSearch) pair(block []int, i, by int) int {
	if i < 1 || i >= s.length || !s.adjacent[i] {
		return 0
	}
	x, y := block[i-1], block[i]
	v := &s.follows[x*s.treatments+y]
	was := *v
	*v += by
	if x == y {
		return s.self * by
	}
	return *v**v - was*was
}

func (s *columnSearch) cost() int {
	sum := 0
	for i, v := range s.follows {
		if i/s.treatments == i%s.treatments {
			sum += s.self * v
		} else {
			sum += v * v
		}
	}
	return sum
}

// exchangeColumns exchanges columns i < j of the rows of a square that are run, and returns the change of the cost.
func (s *columnSearch) exchangeColumns(q, i, j int) int {
	change := 0
	around := func(row []int, by int) {
		change += s.pair(row, i, by) + s.pair(row, j+1, by)
		change += s.pair(row, i+1, by)
		if i+1 < j {
			change += s.pair(row, j, by)
		}
	}
	for r, row := range s.squares[q] {
		if r >= s.used[q] {
			row[i], row[j] = row[j], row[i]
			continue
		}
		around(row, -1)
		row[i], row[j] = row[j], row[i]
		around(row, 1)
	}
	return change
}

// exchangeRows exchanges rows a and b of a square, of which b is spare, and returns the change of the cost.
func (s *columnSearch) exchangeRows(q, a, b int) int {
	rows := s.squares[q]
	change := s.row(rows[a], -1)
	rows[a], rows[b] = rows[b], rows[a]
	return change + s.row(rows[a], 1)
}

// descend makes steps by threshold accepting, and calls keep with what is better than all before.
func (s *columnSearch) descend(src *lot.Stream, steps int, keep func(cost int)) {
	now := s.cost()
	least := now
	keep(now)
	highest := 2 * min(s.used[0], s.treatments)
	for step := range steps {
		q := int(src.Below(uint64(len(s.squares))))
		limit := max(0, highest*(2*steps-3*step)/(2*steps))
		spare := len(s.squares[q]) - s.used[q]
		if spare > 0 && src.Below(4) == 0 {
			a, b := int(src.Below(uint64(s.used[q]))), s.used[q]+int(src.Below(uint64(spare)))
			if change := s.exchangeRows(q, a, b); change > limit {
				s.exchangeRows(q, a, b)
			} else {
				now += change
			}
		} else {
			i, j := int(src.Below(uint64(s.length))), int(src.Below(uint64(s.length)))
			if i == j {
				continue
			}
			i, j = min(i, j), max(i, j)
			if change := s.exchangeColumns(q, i, j); change > limit {
				s.exchangeColumns(q, i, j)
			} else {
				now += change
			}
		}
		if now < least {
			least = now
			keep(now)
		}
	}
}
