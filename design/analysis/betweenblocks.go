package analysis

import (
	"fmt"

	"fairrun/design"
	"fairrun/design/order"
)

// BetweenBlocks is an interaction of two factors that is mixed with differences between blocks.
type BetweenBlocks struct {
	Factors [2]string `json:"factors"`
	Share   float64   `json:"share"` // of what it rests on; 1: it rests on differences between blocks alone
}

// betweenBlocks lists the interactions of two factors that are mixed with blocks, those that lose most first.
func betweenBlocks(c *design.Plan, o *order.Drawn) []BetweenBlocks {
	out := []BetweenBlocks{}
	if len(c.Factors) < 2 {
		return out
	}
	for _, x := range o.InteractionsBetweenBlocks(levelNumbers(c)) {
		out = append(out, BetweenBlocks{[2]string{c.Factors[x.Factors[0]].Name, c.Factors[x.Factors[1]].Name}, x.Share})
	}
	return out
}

// mostBetween bounds the interactions mixed in part with blocks that are listed in words.
const mostBetween = 6

// betweenInWords says of interactions how they are mixed with blocks.
func betweenInWords(c *design.Plan, list []BetweenBlocks) []string {
	var lines []string
	partly := 0
	for _, x := range list {
		switch whole := x.Share > 1-1e-9; {
		case whole:
			lines = append(lines, fmt.Sprintf("the interaction of %s and %s rests on differences between %s alone", x.Factors[0], x.Factors[1], c.Block.Plural()))
		case partly < mostBetween:
			partly++
			lines = append(lines, fmt.Sprintf("%.2g %% of what tells the interaction of %s and %s lies between %s", 100*x.Share, x.Factors[0], x.Factors[1], c.Block.Plural()))
		default:
			partly++
		}
	}
	if more := partly - mostBetween; more > 0 {
		what := fmt.Sprintf("%d more interactions", more)
		if more == 1 {
			what = "one more interaction"
		}
		lines = append(lines, fmt.Sprintf("of what tells %s no larger a share lies between %s", what, c.Block.Plural()))
	}
	return lines
}
