package dist

import (
	"math"
	"testing"
)

// accuracyMaxima compares StudentizedRange and ManyToOneT with the values of
// testdata/maxima.py.
func accuracyMaxima(t *testing.T) {
	const maker = "trapezoidal sums at 30 digits (maxima.py)"
	const region = "upper tail, 1 to 1e-12, and CDF"
	var w, q worst
	for _, r := range grid(t, "studentizedrange.csv") {
		law := StudentizedRange{Groups: int(r[0]), DF: r[1]}
		w.add(law.CDF(r[2]), r[3], r...)
		w.add(law.Survival(r[2]), r[4], r...)
		if r[4] < 0.5 {
			q.add(law.UpperQuantile(r[4]), r[2], r...)
		} else {
			q.add(law.Quantile(r[3]), r[2], r...)
		}
	}
	w.report(t, "StudentizedRange", region, maker, 1e-12)
	q.report(t, "StudentizedRange quantile", region, maker, 1e-12)
	w, q = worst{}, worst{}
	for _, r := range grid(t, "manytoone.csv") {
		law, two := ManyToOneT{Loadings: r[5:], DF: r[1]}, r[0] == 1
		w.add(law.CDF(r[2], two), r[3], r...)
		w.add(law.Survival(r[2], two), r[4], r...)
		if r[4] < 0.5 {
			q.add(law.UpperQuantile(r[4], two), r[2], r...)
		} else if math.Abs(r[2]) > 0.1 { // close to zero, the tail says little about x
			q.add(law.Quantile(r[3], two), r[2], r...)
		}
	}
	w.report(t, "ManyToOneT", region, maker, 1e-12)
	q.report(t, "ManyToOneT quantile", region, maker, 1e-12)
}

// accuracyUnion holds MultivariateT, where the matrix has no product structure, against
// StudentizedRange: the largest difference of all pairs of means is a range.
func accuracyUnion(t *testing.T) {
	const maker = "StudentizedRange"
	law, pairs := StudentizedRange{Groups: 4, DF: 12}, MultivariateT{Corr: allPairs(4), DF: 12}
	var w worst
	for _, q := range []float64{2, 4, 7, 12} {
		p, _ := pairs.Survival(q/math.Sqrt2, true)
		w.add(p, law.Survival(q), q)
	}
	w.report(t, "MultivariateT, no product structure", "all pairs of four means", maker, 1e-3)
}
