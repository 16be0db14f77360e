package check

import (
	"math"

	"fairrun/stats/law"
)

// Interval is a range for a chance between 0 and 1.
type Interval struct{ Low, High float64 }

const badCount = "check: a count must lie between 0 and the number of runs"

// ClopperPearson returns the exact two-sided 1−alpha interval for the chance
// behind k occurrences in n runs: it holds the true chance with at least that
// probability, whatever it is.
//
//	Low  = lower alpha/2 quantile of Beta(k, n−k+1), 0 when k = 0
//	High = upper alpha/2 quantile of Beta(k+1, n−k), 1 when k = n
//
// No runs give 0 to 1. Panics unless 0 ≤ k ≤ n and 0 < alpha < 1.
//
// Source: Clopper & Pearson 1934, Biometrika 26, 404–413. Accuracy: that of
// [law.Beta].
func ClopperPearson(k, n int, alpha float64) Interval {
	if k < 0 || k > n {
		panic(badCount)
	}
	mustBeProbability(alpha)
	i := Interval{Low: 0, High: 1}
	if k > 0 {
		i.Low = law.Beta{A: float64(k), B: float64(n-k) + 1}.Quantile(alpha / 2)
	}
	if k < n {
		i.High = law.Beta{A: float64(k) + 1, B: float64(n - k)}.UpperQuantile(alpha / 2)
	}
	return i
}

// Wilson returns the score interval for the chance behind k occurrences in n
// runs: the chances p for which |k/n − p| ≤ z·√(p(1−p)/n), z being the upper
// alpha/2 quantile of the normal law. It is shorter than [ClopperPearson] and
// holds the true chance with probability 1−alpha on average over chances.
//
// No runs give 0 to 1. Panics unless 0 ≤ k ≤ n and 0 < alpha < 1.
//
// Source: Wilson 1927, JASA 22, 209–212. Accuracy: 1e-14 relative, at both ends.
func Wilson(k, n int, alpha float64) Interval {
	if k < 0 || k > n {
		panic(badCount)
	}
	mustBeProbability(alpha)
	if n == 0 {
		return Interval{Low: 0, High: 1}
	}
	z := normal.UpperQuantile(alpha / 2)
	return Interval{Low: wilsonLow(float64(k), float64(n), z), High: 1 - wilsonLow(float64(n-k), float64(n), z)}
}

// wilsonLow is the smaller root of (n+z²)p² − (2k+z²)p + k²/n, from the product
// of the roots, so that it keeps its digits when k is small.
func wilsonLow(k, n, z float64) float64 {
	return 2 * k * k / n / (2*k + z*z + z*math.Sqrt(z*z+4*k*(n-k)/n))
}
