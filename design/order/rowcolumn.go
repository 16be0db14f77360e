package order

import (
	"slices"

	"fairrun/design/lot"
)

// rowsAndColumns returns blocks in which positions matter as blocks do: rows and columns.
//
// Complete blocks. Sets of T blocks hold Latin squares, side by side for several replicates, in
// which every treatment stands once at every position, so that drift of any course costs nothing.
// The remaining c < T blocks are arranged so that positions, seen as blocks of c runs, are the best
// incomplete blocks that are found: with balanced ones, a Youden square. Every design of T·R blocks
// of c runs can be so arranged, its runs being shared out into rows that hold each treatment R
// times (Smith, C. A. B. & Hartley, H. O. 1948, Journal of the Royal Statistical Society B 10;
// Agrawal, H. 1966, Annals of Mathematical Statistics 37).
//
// Incomplete blocks. The best block design found is arranged so that positions are complete where
// the number of blocks is a multiple of T, and otherwise by exchanging runs within blocks.
func rowsAndColumns(p Spec, given [][]int) ([][]int, error) {
	if p.Runs > 0 {
		blocks, err := incompleteBlocks(p, given)
		if err != nil {
			return nil, err
		}
		arrangePositions(p, blocks, len(given))
		return blocks, nil
	}
	blocks := p.Blocks - len(given)
	var rows [][]int
	for range blocks / p.Treatments {
		rows = append(rows, squareRows(p)...)
	}
	rest := blocks % p.Treatments
	switch {
	case rest == 1:
		rows = append(rows, completeDesign(p)[0])
	case rest > 1:
		q := Spec{Treatments: p.Treatments, Blocks: p.Treatments * p.Replicates, Runs: rest}
		columns, err := incompleteBlocks(q, nil)
		if err != nil {
			return nil, err
		}
		rows = append(rows, distribute(columns, p.Treatments, p.Replicates)...)
	}
	return append(slices.Clone(given), rows...), nil
}

// squareRows returns T blocks that are Latin squares side by side.
func squareRows(p Spec) [][]int {
	t := p.Treatments
	rows := make([][]int, t)
	for b := range rows {
		for range p.Replicates {
			for i := range t {
				rows[b] = append(rows[b], (b+i)%t)
			}
		}
	}
	return rows
}

// distribute arranges the runs of columns in rows: each row takes one run from each column and
// holds each treatment so many times. Runs of columns and treatments must be so many that this can
// be done for all rows, as they are when each treatment occurs equally often.
func distribute(columns [][]int, treatments, times int) [][]int {
	left := cloneBlocks(columns)
	rows := make([][]int, len(columns[0]))
	for r := range rows {
		rows[r] = match(left, treatments, times)
		for c, t := range rows[r] {
			i := slices.Index(left[c], t)
			left[c] = slices.Delete(left[c], i, i+1)
		}
	}
	return rows
}

// match takes one treatment from each column so that each is taken so many times, by augmenting paths.
func match(columns [][]int, treatments, times int) []int {
	taken := make([]int, len(columns)) // treatment of each column
	holds := make([][]int, treatments) // columns of each treatment
	for c := range taken {
		taken[c] = -1
	}
	var seen []bool
	var place func(c int) bool
	place = func(c int) bool {
		for _, t := range columns[c] {
			if seen[t] {
				continue
			}
			seen[t] = true
			if len(holds[t]) < times {
				holds[t] = append(holds[t], c)
				taken[c] = t
				return true
			}
			for i, other := range holds[t] {
				if place(other) {
					holds[t][i] = c
					taken[c] = t
					return true
				}
			}
		}
		return false
	}
	for c := range columns {
		seen = make([]bool, treatments)
		if !place(c) {
			panic("order: columns cannot be shared out into complete rows")
		}
	}
	return taken
}

// arrangePositions puts the runs of incomplete blocks from the given one on into positions so that
// treatments occur at each position as equally often as can be, and meet there as evenly.
func arrangePositions(p Spec, blocks [][]int, from int) {
	t := p.Treatments
	fresh := blocks[from:]
	if times := len(fresh) / t; len(fresh)%t == 0 && equallyOften(fresh, t) {
		// Positions take the place of rows.
		for i, row := range distribute(fresh, t, times) {
			for b, v := range row {
				fresh[b][i] = v
			}
		}
		return
	}
	exchangeWithin(p, blocks, from)
}

func equallyOften(blocks [][]int, treatments int) bool {
	times := make([]int, treatments)
	for _, block := range blocks {
		for _, t := range block {
			times[t]++
		}
	}
	return slices.Min(times) == slices.Max(times)
}

// exchangeWork is about how many multiplications exchangeWithin spends.
const exchangeWork = 40_000_000

// exchangeWithin exchanges runs within blocks as long as that lowers first the sum over treatments
// and positions of squared counts, and then the average variance, for random starts; it leaves the
// best.
func exchangeWithin(p Spec, blocks [][]int, from int) {
	src := lot.New(0, lot.StreamSearch)
	t, k := p.Treatments, p.Runs
	left := exchangeWork / (t*t*t/2 + len(blocks)*k*k + k*t*t)
	var best [][]int
	bestCost := 0.0
	for idle := 0; idle < idleStarts && (best == nil || left > 0); idle++ {
		for _, block := range blocks[from:] {
			lot.Shuffle(src, block)
		}
		evenOut(blocks, from, t, nil)
		now := rowColumnCost(t, blocks)
		for improved := true; improved && left > 0; {
			improved = false
			for _, block := range blocks[from:] {
				for i := range block {
					for j := range i {
						if block[i] == block[j] || left <= 0 {
							continue
						}
						left--
						block[i], block[j] = block[j], block[i]
						if c := rowColumnCost(t, blocks); c < now*(1-1e-12) {
							now, improved = c, true
						} else {
							block[i], block[j] = block[j], block[i]
						}
					}
				}
			}
		}
		if best == nil || now < bestCost*(1-1e-12) {
			best, bestCost = cloneBlocks(blocks), now
			idle = 0
		}
	}
	for b := range blocks {
		copy(blocks[b], best[b])
	}
}

// evenOut exchanges runs within blocks while that lowers the sum of squared counts of treatments at
// positions; where plots holds the setting of each treatment, within whole plots only.
func evenOut(blocks [][]int, from, treatments int, plots []int) {
	k := len(blocks[0])
	times := make([]int, treatments*k)
	for _, block := range blocks {
		for i, t := range block {
			times[t*k+i]++
		}
	}
	for improved := true; improved; {
		improved = false
		for _, block := range blocks[from:] {
			for i := range block {
				for j := range i {
					x, y := block[i], block[j]
					// Counts at i and j of x, y: one down at its place, one up at the other.
					change := times[x*k+j] - times[x*k+i] + 1 + times[y*k+i] - times[y*k+j] + 1
					if x == y || change >= 0 || plots != nil && plots[x] != plots[y] {
						continue
					}
					times[x*k+i]--
					times[x*k+j]++
					times[y*k+j]--
					times[y*k+i]++
					block[i], block[j] = y, x
					improved = true
				}
			}
		}
	}
}

// rowColumnCost returns the sum of the variances of orthonormal comparisons with blocks and
// positions fitted; a very large number if one cannot be estimated. With r counts of treatments,
// and N_b and N_p counts by block and by position,
//
//	C = diag(r) − N_b N_bᵀ/k − N_p N_pᵀ/B + r rᵀ/N.
func rowColumnCost(treatments int, blocks [][]int) float64 {
	c, _ := informationInBlocks(treatments, blocks)
	g := meanInformation(c, treatments)
	takePositionMeans(c, treatments, blocks)
	addConstant(c, treatments, g)
	return min(1e300, traceInverse(c, treatments, g)-1/g)
}

// takePositionMeans takes out of the information with blocks alone, c, what a mean for each position
// takes: N_p N_pᵀ/B − r rᵀ/N. All blocks have as many runs.
func takePositionMeans(c []float64, treatments int, blocks [][]int) {
	t, k := treatments, len(blocks[0])
	total := make([]float64, t)
	times := make([]float64, t)
	for i := range k {
		clear(times)
		for _, block := range blocks {
			times[block[i]]++
		}
		for x, u := range times {
			total[x] += u
			if u == 0 {
				continue
			}
			for y, v := range times {
				c[x*t+y] -= float64(u*v) / float64(len(blocks))
			}
		}
	}
	for x, u := range total {
		for y, v := range total {
			c[x*t+y] += float64(u*v) / float64(k*len(blocks))
		}
	}
}

// freshSquares returns how many Latin squares a stage draws afresh: all of its order, if it is made
// of them alone.
func (s *stage) freshSquares() int {
	p := s.plan
	blocks := p.Blocks - s.from
	if p.kind() != kindRows || p.Runs > 0 || blocks%p.Treatments != 0 {
		return 0
	}
	return blocks / p.Treatments * p.Replicates
}

// drawSquares fills the blocks of a stage with Latin squares, side by side and one set of T blocks
// after the other.
func (s *stage) drawSquares(src *lot.Stream, l *latin, part []int32) {
	t, n := s.plan.Treatments, s.plan.runsPerBlock()
	for ; len(part) > 0; part = part[t*n:] {
		for from := 0; from < n; from += t {
			l.draw(src)
			for r := range t {
				for c := range t {
					part[r*n+from+c] = int32(l.square[r*t+c])
				}
			}
		}
	}
}
