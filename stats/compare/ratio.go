package compare

import "math"

// Percent returns a difference as per cent of the reference mean it is taken
// against, with its interval at the critical value c, by Fieller's theorem:
// both the difference d and the reference m are estimates.
//
//	100·d/|m|, ends where (d − ρ·m)² = c²·Var(d − ρ·m)
//
// varD, varM and cov are the variances of d and m and their covariance. The
// interval excludes zero exactly when d ± c·√varD does. When the reference is
// not clear of zero itself (|m| ≤ c·√varM) no bounded interval exists and both
// ends are NaN; the value is NaN when m is 0.
//
// Source: Fieller 1954, JRSS B 16.
func Percent(d, m, varD, varM, cov, c float64) (value, low, high float64) {
	if m == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	if m < 0 {
		m, cov = -m, -cov // the ratio to |m|
	}
	value = 100 * d / m
	k := c * c
	a := m*m - k*varM
	b := d*m - k*cov
	e := d*d - k*varD
	disc := b*b - a*e
	if a <= 0 || disc < 0 || math.IsNaN(disc) {
		return value, math.NaN(), math.NaN()
	}
	root := math.Sqrt(disc)
	return value, 100 * (b - root) / a, 100 * (b + root) / a
}

// PercentOf returns what a difference is to be divided by to be read in per cent of a mean that
// is taken as known: NaN where that is 0.
func PercentOf(mean float64) float64 {
	if mean == 0 {
		return math.NaN()
	}
	return math.Abs(mean) / 100
}
