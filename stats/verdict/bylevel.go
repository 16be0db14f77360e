package verdict

import (
	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// byLevel judges levels that each have a noise of their own. Blocks and drift are those of the fit by least squares; what is
// left of the means of a block's runs at a level says how differently blocks show a difference.
//
// Where blocks are a sample, or hold one run of each treatment, a difference is that of paired means over the blocks that hold
// both levels, with the t law of one degree of freedom less than there are blocks, and Bonferroni's bound over the family.
// Otherwise the runs of a treatment within a block give the variance of its level, and a difference has Welch's degrees of
// freedom: with all pairs the intervals of Games & Howell (1976).
type byLevel struct {
	estimator
	fit        leastSquares
	treatments []linmod.Factor
	block      *linmod.Factor // nil: all runs are one block
	within     bool           // by the runs within blocks
	left       float64        // share of the degrees of freedom that drift leaves
}

// scatterCheck names remarks on levels that scatter differently.
const scatterCheck = "noise by level"

// byLevels judges each level by its own noise, where the model has nothing random but blocks that hold every treatment.
func (f *fit) byLevels(d *Data, y []float64) (said remarks) {
	if len(d.random()) > 0 || f.carry != nil {
		said.warn(scatterCheck, "levels are judged by their common noise: with random factors or carry-over in the model there is no law for a noise of each level")
		return said
	}
	b := byLevel{estimator: f.estimator, fit: leastSquares{f.squares, f.variance}, treatments: f.model.Factors, left: 1}
	if len(d.Blocks) > 0 {
		b.block = &d.Blocks[0]
	}
	repeats := 0
	seen := map[[2]int]bool{}
	for row, used := range f.squares.Used {
		if !used {
			continue
		}
		cell := [2]int{b.blockOf(row), levelOf(b.treatments, every(b.treatments), row)}
		if seen[cell] {
			repeats++
		}
		seen[cell] = true
	}
	b.within = len(d.Sample) == 0 && repeats > 0
	without := f.model
	without.Covariates = nil
	without.Blocks = without.Blocks[:min(1, len(without.Blocks))]
	plain, err := linmod.Fit(without, y)
	if err != nil {
		said.skip(scatterCheck, err)
		return said
	}
	spent := float64(f.squares.Rank - plain.Rank)
	if all := float64(f.squares.DF) + spent; b.within {
		b.left = max(0, 1-spent/float64(repeats))
	} else if all > 0 {
		b.left = float64(f.squares.DF) / all
	}
	if !b.within && (b.block == nil || len(b.block.Levels) < 2) {
		said.warn(scatterCheck, "levels are judged by their common noise: one run of each in one block cannot show what a level scatters")
		return said
	}
	f.estimator = b
	if b.within {
		said.note(scatterCheck, "each level is judged by its own noise, that of its runs within %s", d.each(b.block))
	} else {
		said.note(scatterCheck, "each difference is judged by how far %s agree on it, whatever the levels scatter", d.several(b.block.Name))
	}
	return said
}

// each names the blocks in which runs repeat.
func (d *Data) each(block *linmod.Factor) string {
	if block == nil {
		return "the campaign"
	}
	return d.several(block.Name)
}

func (f byLevel) blockOf(row int) int {
	if f.block == nil {
		return 0
	}
	return int(f.block.Code[row])
}

// levelOf is the combination of levels of some factors in a row.
func levelOf(treatments []linmod.Factor, factors []int, row int) int {
	k := 0
	for _, i := range factors {
		k = k*len(treatments[i].Levels) + int(treatments[i].Code[row])
	}
	return k
}

func (f byLevel) method() (method, dfMethod string) {
	if f.within {
		return "least squares, noise by level", "welch"
	}
	return "least squares, noise by level", "paired"
}

func (f byLevel) means(factors ...int) (*adjusted, error) {
	a, err := f.fit.means(factors...)
	if err != nil {
		return nil, err
	}
	blocks := 1
	if f.block != nil {
		blocks = len(f.block.Levels)
	}
	treatment := func(row int) int { return levelOf(f.treatments, every(f.treatments), row) }
	level := func(row int) int { return levelOf(f.treatments, factors, row) }
	s := mixed.NewLevels(f.fit.Residuals(), f.blockOf, treatment, level, blocks, combinations(f.treatments), len(a.n), f.within, f.left)
	common := a.contrasts
	a.contrasts = func(rows [][]float64) *mixed.Estimates { return s.Contrasts(rows, common(rows)) }
	return a, nil
}

// law is that of a family of so many levels, of which some are compared.
func (f byLevel) law(kind Compare, levels int) compare.Family {
	pairs := levels * (levels - 1) / 2
	switch {
	case kind == Baseline:
		return compare.Keep(compare.Slices{Family: single, Count: max(1, levels-1)})
	case f.within:
		return compare.Keep(compare.Pairs{Levels: levels})
	}
	return compare.Keep(compare.Slices{Family: single, Count: max(1, pairs)})
}
