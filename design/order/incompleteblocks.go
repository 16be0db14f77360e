package order

import (
	"fairrun/design/blocks"
	"fairrun/design/lot"
)

// incompleteBlocks are the blocks of a block design, their runs in any order.
type incompleteBlocks struct{ blockDesign }

func (k incompleteBlocks) design(given [][]int) ([][]int, error) {
	return blocks.Incomplete(k.blocks(), given)
}

func (k incompleteBlocks) within(*stage) within { return runsWithin(k.Runs) }

// names has no exchanges where treatments are not alike, and leaves the baseline its name where its
// reference runs count in the loss by which orders are kept.
func (k incompleteBlocks) names() naming {
	switch {
	case k.Effects != nil:
		return naming{}
	case len(k.Reference) == 0 || k.scope() == Everything:
		return k.blockDesign.names()
	}
	last := k.Treatments - 1
	others := lot.Identity(last)
	if k.Baseline < last {
		others[k.Baseline] = last
	}
	return newNaming(others)
}

func (k incompleteBlocks) orders(s *stage, blocks int) lot.Count {
	return lot.Count{Log10: lot.Factorial(k.Runs).Power(blocks).Times(s.blockOrders(blocks)).Log10}
}
