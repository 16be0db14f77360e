package compare

import "math"

// A Word is the verdict on one comparison.
type Word string

// The five verdicts: what the interval for a difference says about zero and
// about the margin, the smallest difference that would change a decision.
const (
	Matters    Word = "matters"    // clear of zero and beyond the margin
	Real       Word = "real"       // clear of zero, reaches into the margin
	Trivial    Word = "trivial"    // clear of zero, inside the margin
	Equal      Word = "equal"      // holds zero, inside the margin
	Unresolved Word = "unresolved" // holds zero, reaches past the margin
)

// Differs reports whether the word claims a difference from zero.
func (w Word) Differs() bool { return w == Matters || w == Real || w == Trivial }

// Judge reads the interval [low, high] of a difference against zero and
// ±margin. A margin of NaN or 0 means that none was stated: then only [Real]
// and [Unresolved] are possible. An interval with a NaN end is [Unresolved].
func Judge(low, high, margin float64) Word {
	if math.IsNaN(low) || math.IsNaN(high) {
		return Unresolved
	}
	clear := low > 0 || high < 0
	near := min(math.Abs(low), math.Abs(high)) // meaningful only when clear
	far := max(math.Abs(low), math.Abs(high))
	stated := margin > 0
	switch {
	case clear && stated && near >= margin:
		return Matters
	case clear && stated && far <= margin:
		return Trivial
	case clear:
		return Real
	case stated && far <= margin:
		return Equal
	}
	return Unresolved
}
