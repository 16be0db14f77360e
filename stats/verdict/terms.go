package verdict

import (
	"math"

	"fairrun/stats/compare"
)

// terms are those in which the differences of one response are stated and compared with its margin.
type terms struct {
	centre float64 // that its values are deviations from
	scale  Scale
	margin *Margin
	better string
}

// onScale turns a deviation from the centre into a value of the response.
func (t terms) onScale(v float64) float64 {
	if t.scale == Log {
		return math.Exp(t.centre + v)
	}
	return t.centre + v
}

// sign is −1 when lower is better.
func (t terms) sign() float64 {
	if t.better == "lower" {
		return -1
	}
	return 1
}

// kind is how differences are compared with the margin, if there is one.
func (t terms) kind() compare.Terms {
	return compare.TermsOf(t.scale == Log, t.margin != nil && t.margin.Relative)
}

// onMarginScale returns a comparison's interval and the margin in the same terms.
func (t terms) onMarginScale(c Comparison) (low, high, margin float64) {
	low, high = float64(c.Low), float64(c.High)
	if t.margin == nil {
		return low, high, math.NaN()
	}
	if t.kind() == compare.InPercent {
		low, high = float64(c.PercentLow), float64(c.PercentHigh)
	}
	return low, high, t.kind().Margin(t.margin.Value)
}

// plainMargin is the margin on the scale of the analysis, where it is the same
// for every difference.
func (t terms) plainMargin() float64 {
	if t.margin == nil || t.kind() == compare.InPercent {
		return math.NaN()
	}
	return t.kind().Margin(t.margin.Value)
}

// marginAgainst is the margin of a difference from a mean, on the scale of the analysis.
func (t terms) marginAgainst(mean float64) float64 {
	switch {
	case t.margin == nil:
		return math.NaN()
	case t.kind() == compare.InPercent:
		return t.margin.Value * math.Abs(mean)
	}
	return t.plainMargin()
}

// word reads the verdict off the interval.
func (t terms) word(c Comparison) compare.Word {
	low, high, margin := t.onMarginScale(c)
	return compare.Judge(low, high, margin)
}
