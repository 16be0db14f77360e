package verdict

import (
	"math"

	"fairrun/stats/power"
)

// Stage says at which of several planned looks at growing results this verdict
// is made. What all of them may conclude together keeps alpha ([power.Schedule]).
type Stage struct {
	Spending power.Spending
	Of       int // looks planned in all

	// Fractions are the information at every look so far, this one last, over that
	// of the whole campaign. Without any it is too early to conclude anything.
	Fractions []float64

	Blocks    []int   // complete blocks at each look planned; nil where looks are not at blocks
	DF        float64 // residual degrees of freedom of the whole campaign as planned
	Inflation float64 // information that the plan needs over one with a single look; 0 is 1
}

// check says what is wrong with the looks asked for.
func (l *Stage) check() error {
	if l == nil {
		return nil
	}
	if l.Spending != power.OBrienFleming && l.Spending != power.Pocock {
		return refuse("the spending of the looks is %d; it can be O'Brien and Fleming's (%d) or Pocock's (%d)", l.Spending, power.OBrienFleming, power.Pocock)
	}
	before := 0.0
	for _, t := range l.Fractions {
		if !(t > before && t <= math.MaxFloat64) {
			return refuse("the looks came at %v of the planned information; these numbers must be above zero and ascend", l.Fractions)
		}
		before = t
	}
	return nil
}

// Looks says at how many looks results are judged, and how far that has come. What is not known is null.
type Looks struct {
	Of        int    `json:"of"`        // planned in all
	Done      Number `json:"done"`      // so far, this one too; 0 before the first
	Fraction  Number `json:"fraction"`  // of the information planned that there is at this one
	Level     Number `json:"level"`     // that all comparisons of a family have together at this one: what p_adjusted is compared with
	Blocks    []int  `json:"blocks"`    // complete blocks at each look
	Inflation Number `json:"inflation"` // information that the plan needs over one with a single look
}

// Interim is the look as package power judges a family at it.
func (l *Stage) Interim() *power.Interim {
	return &power.Interim{Spending: l.Spending, Fractions: l.Fractions, DF: l.DF}
}

// Looks is the stage as an answer shows it, nil for that of a single look. What level it leaves is not known yet.
func (l *Stage) Looks() *Looks {
	if l == nil {
		return nil
	}
	out := &Looks{Of: l.Of, Done: Number(len(l.Fractions)), Fraction: Unknown, Level: Unknown, Blocks: append([]int{}, l.Blocks...), Inflation: Number(l.inflation())}
	if n := len(l.Fractions); n > 0 {
		out.Fraction = Number(l.Fractions[n-1])
	}
	return out
}

// inflation is what several looks cost in information.
func (l *Stage) inflation() float64 {
	if l == nil {
		return 1
	}
	return max(1, l.Inflation)
}
