package blocks

import (
	"slices"

	"fairrun/design/internal/dense"
	"fairrun/design/internal/information"
	"fairrun/design/lot"
)

// RowsAndColumns returns blocks in which positions matter as blocks do: rows and columns.
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
func RowsAndColumns(p Spec, given [][]int) ([][]int, error) {
	if p.Runs > 0 {
		blocks, err := Incomplete(p, given)
		if err != nil {
			return nil, err
		}
		arrangePositions(p.Treatments, blocks, len(given))
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
		rows = append(rows, completeBlock(p.Treatments, p.Replicates))
	case rest > 1:
		q := Spec{Treatments: p.Treatments, Blocks: p.Treatments * p.Replicates, Runs: rest}
		columns, err := Incomplete(q, nil)
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

// completeBlock holds every treatment so many times.
func completeBlock(treatments, replicates int) []int {
	var block []int
	for t := range treatments {
		for range replicates {
			block = append(block, t)
		}
	}
	return block
}

// distribute arranges the runs of columns in rows: each row takes one run from each column and
// holds each treatment so many times. Runs of columns and treatments must be so many that this can
// be done for all rows, as they are when each treatment occurs equally often.
func distribute(columns [][]int, treatments, times int) [][]int {
	left := Clone(columns)
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
func arrangePositions(t int, blocks [][]int, from int) {
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
	exchangeWithin(t, blocks, from)
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
func exchangeWithin(t int, blocks [][]int, from int) {
	src := lot.New(0, lot.StreamSearch)
	k := len(blocks[0])
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
			best, bestCost = Clone(blocks), now
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
	c, _ := information.InBlocks(treatments, blocks)
	g := information.Mean(c, treatments)
	information.TakePositionMeans(c, treatments, blocks)
	information.AddConstant(c, treatments, g)
	return min(1e300, dense.TraceInverse(c, treatments, g)-1/g)
}
