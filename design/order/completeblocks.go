package order

import "fairrun/design/lot"

// completeBlocks are blocks that hold every treatment equally often, in any order.
type completeBlocks struct{ defaults }

func (k completeBlocks) design([][]int) ([][]int, error) {
	return k.blocksOf(lot.Identity(k.Treatments)), nil
}
func (k completeBlocks) within(*stage) within { return runsWithin(k.runsPerBlock()) }
func (k completeBlocks) listed() bool         { return k.plain() }

func (k completeBlocks) scope() Scope {
	scope := k.defaults.scope()
	if scope == Campaign && k.Own && k.Blocks > 1 && k.Replicates > 1 && k.plain() {
		return EachBlock
	}
	return scope
}

func (k completeBlocks) orders(_ *stage, blocks int) lot.Count {
	return lot.Arrangements(k.Treatments, k.Replicates).Power(blocks)
}

// blocksOf returns blocks that hold each treatment Replicates times, in a given sequence.
func (p Spec) blocksOf(treatments []int) [][]int {
	var block []int
	for _, t := range treatments {
		for range p.Replicates {
			block = append(block, t)
		}
	}
	design := make([][]int, p.Blocks)
	for b := range design {
		design[b] = block
	}
	return design
}
