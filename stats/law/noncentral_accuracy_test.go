package law

import (
	"testing"

	"fairrun/stats/internal/accuracy"
)

// accuracyNoncentral compares the noncentral laws with the values of
// testdata/noncentral.py.
func accuracyNoncentral(t *testing.T, page *accuracy.Section) {
	const maker = "Poisson mixture at 420 digits (noncentral.py)"
	const region = "both tails, 1 to 1e-280"
	const least = 1e-280
	var w worst
	for _, r := range grid(t, "noncentralchisquared.csv") {
		law := NoncentralChiSquared{DF: r[0], Lambda: r[1]}
		w.addAbove(least, law.CDF(r[2]), r[3], r...)
		w.addAbove(least, law.Survival(r[2]), r[4], r...)
	}
	w.report(t, page, "NoncentralChiSquared", region, maker, 1e-12)
	w = worst{}
	for _, r := range grid(t, "noncentralf.csv") {
		law := NoncentralF{D1: r[0], D2: r[1], Lambda: r[2]}
		w.addAbove(least, law.CDF(r[3]), r[4], r...)
		w.addAbove(least, law.Survival(r[3]), r[5], r...)
	}
	w.report(t, page, "NoncentralF", region, maker, 1e-12)
	w = worst{}
	for _, r := range grid(t, "noncentralt.csv") {
		law := NoncentralT{DF: r[0], Delta: r[1]}
		w.addAbove(least, law.CDF(r[2]), r[3], r...)
		w.addAbove(least, law.Survival(r[2]), r[4], r...)
		law.Delta = -law.Delta // the mirror image
		w.addAbove(least, law.Survival(-r[2]), r[3], r...)
	}
	w.report(t, page, "NoncentralT", region, maker, 1e-12)
}
