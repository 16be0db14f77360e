package compare

import "math"

// Terms are those in which a difference is compared with its margin.
type Terms int

const (
	// InUnits compares in the unit of the analysis.
	InUnits Terms = iota
	// InLogs compares differences of logarithms. A relative margin m is symmetric in the ratio:
	// between 1/(1+m) and 1+m.
	InLogs
	// InPercent compares in per cent of the mean that the difference is taken against.
	InPercent
)

// TermsOf returns the terms of an analysis of logarithms or of raw values, with a margin that is
// relative or in the unit of the response.
func TermsOf(logarithms, relative bool) Terms {
	switch {
	case logarithms:
		return InLogs
	case relative:
		return InPercent
	}
	return InUnits
}

// Margin returns a margin in these terms: of a share m it is log(1+m) or 100·m.
func (t Terms) Margin(m float64) float64 {
	switch t {
	case InLogs:
		return math.Log1p(m)
	case InPercent:
		return 100 * m
	}
	return m
}

// Stated returns a difference in these terms as a margin is stated: the inverse of Margin.
func (t Terms) Stated(d float64) float64 {
	switch t {
	case InLogs:
		return math.Expm1(d)
	case InPercent:
		return d / 100
	}
	return d
}
