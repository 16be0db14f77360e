package render

import (
	"fmt"
	"math"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// carriedOver is the table of what levels leave over for the next run, and of their permanent differences.
func carriedOver(r *verdict.Response) Table {
	t := Table{Align: "llrrr", Head: []string{"factor", "comparison", heading("left over", r.Unit), heading("permanent", r.Unit), "interval"}}
	if r.CarryOver == nil {
		return t
	}
	say := func(n verdict.Number) verdict.Number { return n }
	if r.Scale == verdict.Log {
		t.Head[2], t.Head[3] = "left over, %", "permanent, %"
		say = func(n verdict.Number) verdict.Number { return verdict.Number(100 * math.Expm1(float64(n))) }
	}
	for _, d := range r.CarryOver.Differences {
		low, value, high := say(d.Low), say(d.Permanent), say(d.High)
		n := intervalDecimals(low, value, high)
		t.Rows = append(t.Rows, []string{d.Factors.Term(), d.Level + " against " + d.Against, signed(say(d.Residual), n), signed(value, n), span(low, high, n)})
	}
	return t
}

// carryOverCost says what the differences lose to carry-over in the model.
func carryOverCost(c *design.Plan, o *order.Drawn) string {
	kept := size.CarriedEfficiency(c, o)
	if math.IsNaN(kept) {
		return " The verdict adjusts for carry-over, but in this order some settings cannot be compared then."
	}
	return fmt.Sprintf(" The verdict adjusts for carry-over: that leaves differences %.1f %% of their precision and takes %d degrees of freedom.", 100*kept, c.Freedom().CarryOver)
}
