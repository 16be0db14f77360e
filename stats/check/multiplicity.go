package check

import (
	"cmp"
	"math"
	"slices"
)

// Holm returns p-values adjusted so that calling those at or below alpha
// makes any false call with probability at most alpha, however the tests
// depend on each other. With m p-values in rising order
//
//	adjusted₍ᵢ₎ = max over j ≤ i of min(1, (m−j+1)·p₍ⱼ₎)
//
// NaN stays NaN and does not count.
//
// Source: Holm 1979, Scandinavian Journal of Statistics 6, 65–70.
func Holm(p []float64) []float64 {
	out, rising := adjustable(p)
	m := len(rising)
	running := 0.0
	for j, i := range rising {
		running = max(running, min(1, float64(m-j)*p[i]))
		out[i] = running
	}
	return out
}

// BenjaminiHochberg returns p-values adjusted so that among those called at or
// below alpha a share of at most alpha is false on average, for tests that are
// independent or positively dependent. With m p-values in rising order
//
//	adjusted₍ᵢ₎ = min over j ≥ i of min(1, (m/j)·p₍ⱼ₎)
//
// NaN stays NaN and does not count.
//
// Source: Benjamini & Hochberg 1995, JRSS B 57, 289–300.
func BenjaminiHochberg(p []float64) []float64 {
	out, rising := adjustable(p)
	m := len(rising)
	running := 1.0
	for j := m - 1; j >= 0; j-- {
		i := rising[j]
		running = min(running, float64(m)/float64(j+1)*p[i])
		out[i] = running
	}
	return out
}

const notAProbability = "check: a p-value lies outside 0 to 1"

// adjustable returns a list of NaN for the answers and the indexes of the
// p-values in rising order.
func adjustable(p []float64) (out []float64, rising []int) {
	out = make([]float64, len(p))
	for i, v := range p {
		out[i] = math.NaN()
		if v < 0 || v > 1 {
			panic(notAProbability)
		}
		if !math.IsNaN(v) {
			rising = append(rising, i)
		}
	}
	slices.SortStableFunc(rising, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	return out, rising
}
