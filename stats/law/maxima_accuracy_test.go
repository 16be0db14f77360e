package law

import (
	"fairrun/stats/internal/accuracy"
	"math"
	"testing"
)

// accuracyMaxima compares StudentizedRange and ManyToOneT with the values of
// testdata/maxima.py.
func accuracyMaxima(t *testing.T, page *accuracy.Section) {
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
	w.report(t, page, "StudentizedRange", region, maker, 1e-12)
	q.report(t, page, "StudentizedRange quantile", region, maker, 1e-12)
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
	w.report(t, page, "ManyToOneT", region, maker, 1e-12)
	q.report(t, page, "ManyToOneT quantile", region, maker, 1e-12)
}

// accuracyJoint holds MultivariateT, where the matrix has no product structure, against
// StudentizedRange, as the largest difference of all pairs of means is a range, and against laws
// with two common factors.
func accuracyJoint(t *testing.T, page *accuracy.Section) {
	var w, q worst
	for _, c := range []struct {
		groups    int
		name      string
		tolerance float64
	}{{4, "pairs of three and four means", 1e-11}, {6, "pairs of five and six means", 5e-4}} {
		w, q = worst{}, worst{}
		for _, k := range []int{c.groups - 1, c.groups} {
			law, pairs := StudentizedRange{Groups: k, DF: 12}, MultivariateT{Corr: allPairs(k), DF: 12}
			for _, x := range []float64{1, 2, 4, 7, 12} {
				p, _ := pairs.Survival(x/math.Sqrt2, true)
				w.add(p, law.Survival(x), float64(k), x)
			}
			for _, p := range []float64{0.05, 0.001} {
				x, _ := pairs.UpperQuantile(p, true)
				q.add(x, law.UpperQuantile(p)/math.Sqrt2, float64(k), p)
			}
		}
		w.report(t, page, "MultivariateT", "all "+c.name, "StudentizedRange", c.tolerance)
		q.report(t, page, "MultivariateT quantile", "all "+c.name, "StudentizedRange", c.tolerance)
	}
	const maker = "trapezoidal sums (twofactor.py)"
	for _, near := range []bool{true, false} {
		region, tolerance := "two factors, 5 and 8 variables", 5e-4
		if near {
			region, tolerance = "near product structure, 4 to 11 variables", 1e-5
		}
		w, q = worst{}, worst{}
		twoFactors(t, near, func(m MultivariateT, two bool, x, want float64) {
			p, bound := m.Survival(x, two)
			w.add(p, want, m.DF, x)
			if !(math.Abs(p-want) <= bound) || bound > 10*tolerance*want {
				t.Errorf("n = %d, df %v: P(max > %v) = %v ± %v, want %v", m.Corr.SymmetricDim(), m.DF, x, p, bound, want)
			}
			if x == 2.8 && m.DF == 27 {
				got, _ := m.UpperQuantile(want, two)
				q.add(got, x, m.DF, want)
			}
		})
		w.report(t, page, "MultivariateT", region, maker, tolerance)
		q.report(t, page, "MultivariateT quantile", region, maker, tolerance)
	}
}
