package order

import (
	"fairrun/design/blocks"
	"fairrun/design/lot"
)

// blockDesign is what kinds have in common whose design is found by a search: its treatments exchange names
// and its blocks places, those of a session together.
type blockDesign struct{ defaults }

func (k blockDesign) searched() bool       { return true }
func (k blockDesign) within(*stage) within { return nil }

func (k blockDesign) names() naming { return newNaming(lot.Identity(k.Treatments)) }

func (k blockDesign) orders(s *stage, _ int) lot.Count { return s.exchanges() }

func (k blockDesign) holds(flat []int32) error {
	if k.Session == 0 {
		return nil
	}
	return blocks.CheckSessions(k.blocks(), split(flat, k.Runs))
}

// withoutEffects returns an error if comparisons do not all count alike.
func (k blockDesign) withoutEffects() error {
	if k.Effects == nil {
		return nil
	}
	return k.impossible(func(q *Spec) { q.Effects = nil },
		"a model of effects goes with drift none, linear, quadratic or curve and without carry-over")
}

// efficiencyOverPositions is the efficiency of an order with a mean for each position in the model.
func (k blockDesign) efficiencyOverPositions(order [][]int) (float64, error) {
	q, err := Assess(k.Spec, order)
	if err != nil {
		return 0, k.confounded()
	}
	return q.Efficiency, nil
}
