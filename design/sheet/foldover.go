package sheet

import (
	"errors"
	"reflect"
	"time"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/plan"
)

// FoldOver is Extend for the fold-over of a screen: the blocks added hold its runs once more with
// the levels of all factors exchanged (design.FoldAll), or those of the factor named. blocks is how
// many; 0 adds as many as the campaign has, so that each run's mirror image is run as often as it.
//
// They are drawn by the rule of the first ones, apart from them. The plan gets the keys fold_over
// and fold_over_blocks. The error of a campaign that cannot be folded over, or gains nothing by it,
// says why.
func FoldOver(dir string, which string, blocks int, at time.Time) (before, after *Sheet, err error) {
	return lengthen(dir, PlanFile, func(s *Sheet) (*Draw, error) { return s.Draw.foldedOver(s.Campaign, which, blocks, at) })
}

// foldedOver is the record of d and of the fold-over that is drawn after it.
func (d *Draw) foldedOver(c *design.Plan, which string, blocks int, at time.Time) (*Draw, error) {
	drawn, err := d.plan()
	if err != nil {
		return nil, err
	}
	if blocks == 0 {
		blocks = drawn.Block.Count
	}
	if err := d.roomFor(drawn, blocks); err != nil {
		return nil, err
	}
	folded, err := plan.FoldOver(drawn, which, blocks)
	if err != nil {
		return nil, err
	}
	if !sameScreen(c.Order.Screen, drawn.Order.Screen, which) {
		return nil, errors.New("the screen is not the one that was drawn: put [order] back as it was")
	}
	o, err := order.FoldOver(&d.Order, foldPart(folded), d.Order.NextSeed())
	if err != nil {
		return nil, inWords(folded, err)
	}
	return d.grown(folded, o, Drawing{Time: at.Truncate(time.Second), Blocks: blocks, FoldOver: which}), nil
}

// sameScreen reports whether the screen of a plan is the one drawn, but for the fold-over that is being
// added, which the plan may name already.
func sameScreen(now, drawn *design.Screen, which string) bool {
	if now == nil {
		return false
	}
	same := *now
	if same.FoldOver == which && same.FoldBlocks == nil {
		same.FoldOver = ""
	}
	return reflect.DeepEqual(same, *drawn)
}
