package order_test

import (
	"fmt"
	"testing"

	"fairrun/design/order"
	"fairrun/design/screen"
)

// factorial returns all combinations of so many factors of two levels.
func factorial(factors int) [][]int {
	var levels [][]int
	for t := range 1 << factors {
		row := make([]int, factors)
		for f := range row {
			row[f] = t >> f & 1
		}
		levels = append(levels, row)
	}
	return levels
}

// TestConfounding: what published blocks of two-level designs leave clear (Box, Hunter & Hunter,
// Statistics for Experimenters, tables of blocks of 2ᵏ designs and of fractions, from memory; each can
// be seen by multiplying words): a 2³ in blocks of 4 confounds abc, a 2⁴ in blocks of 8 abcd, in blocks of 4 in
// turn abc, abd and with them cd, one interaction at the least; a 2⁵ in blocks of 8 abc, cde and
// abde; a 2³ in blocks of 2 ab, ac and bc, all of them; a 2⁶ in blocks of 8 with three words
// of three and four letters; and a half of 2⁶ of resolution VI words of three in blocks of 16.
func TestConfounding(t *testing.T) {
	t.Parallel()
	half, err := screen.SmallestRegular(6, 5)
	if err != nil {
		t.Fatal(err)
	}
	levels := func(f *screen.Fraction, err error) [][]int {
		if err != nil {
			t.Fatal(err)
		}
		return f.Levels
	}
	for _, c := range []struct {
		name         string
		levels       [][]int
		blocks, runs int
		lost         int     // interactions that blocks take a part of
		share        float64 // of each of them
	}{
		{"2³ twice in blocks of 4", factorial(3), 4, 4, 0, 0},
		{"2³ in blocks of 4", factorial(3), 2, 4, 0, 0},
		{"2³ in blocks of 2", factorial(3), 4, 2, 3, 1},
		{"2⁴ twice in blocks of 8", factorial(4), 4, 8, 0, 0},
		{"2⁴ in blocks of 4", factorial(4), 4, 4, 1, 1},
		// Six sets of blocks can lose each of the six interactions once.
		{"2⁴ six times in blocks of 4", factorial(4), 24, 4, 6, 1. / 6},
		{"2⁵ in blocks of 8", factorial(5), 4, 8, 0, 0},
		{"2⁶ in blocks of 8", factorial(6), 8, 8, 0, 0},
		{"half of 2⁶ in blocks of 16", half.Levels, 2, 16, 0, 0},
		// Of resolution IV with 8 runs the interactions come in three pairs, of which blocks take one.
		{"half of 2⁴ in blocks of 4", levels(screen.Regular(4, 8)), 2, 4, 2, 1},
		// One set of blocks and a half, of one word.
		{"2³ in three blocks of 4", factorial(3), 3, 4, 0, 0},
	} {
		p := order.Spec{Treatments: len(c.levels), Blocks: c.blocks, Runs: c.runs, Effects: order.MainEffects(c.levels), Drift: order.Linear}
		for seed := range uint64(3) {
			d := draw(t, p, seed)
			lost := d.InteractionsBetweenBlocks(c.levels)
			if len(lost) != c.lost {
				t.Errorf("%s: blocks take %v, want %d interactions", c.name, lost, c.lost)
			}
			for _, i := range lost {
				if fmt.Sprintf("%.9f", i.Share) != fmt.Sprintf("%.9f", c.share) {
					t.Errorf("%s: blocks take %v, want a share of %v each", c.name, i, c.share)
				}
			}
			if d.BlockEfficiency < 1-1e-9 {
				t.Errorf("%s: main effects have efficiency %v, want 1", c.name, d.BlockEfficiency)
			}
		}
	}
}
