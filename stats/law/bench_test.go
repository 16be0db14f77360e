package law

import (
	"testing"

	"gonum.org/v1/gonum/mat"
)

var sink float64

// BenchmarkLaws asks each law for a tail and a quantile as a verdict does. Curves
// are made before the clock starts.
func BenchmarkLaws(b *testing.B) {
	dunnett := ManyToOneT{Loadings: ControlLoadings(12, 8, 8, 6, 4), DF: 20}
	pairs := MultivariateT{Corr: allPairs(4), DF: 20}
	disturbed := mat.NewSymDense(4, []float64{1, 0.52, 0.49, 0.51, 0.52, 1, 0.47, 0.5, 0.49, 0.47, 1, 0.53, 0.51, 0.5, 0.53, 1})
	for _, c := range []struct {
		name string
		f    func() float64
	}{
		{"T/Survival", func() float64 { return T{DF: 17}.Survival(2.1) }},
		{"T/UpperQuantile", func() float64 { return T{DF: 17}.UpperQuantile(0.025) }},
		{"F/Survival", func() float64 { return F{D1: 3, D2: 20}.Survival(4.1) }},
		{"F/UpperQuantile", func() float64 { return F{D1: 3, D2: 20}.UpperQuantile(0.05) }},
		{"ChiSquared/Survival", func() float64 { return ChiSquared{DF: 20}.Survival(31) }},
		{"ChiSquared/UpperQuantile", func() float64 { return ChiSquared{DF: 20}.UpperQuantile(0.05) }},
		{"NoncentralT/Survival", func() float64 { return NoncentralT{DF: 17, Delta: 3}.Survival(2.1) }},
		{"NoncentralF/Survival", func() float64 { return NoncentralF{D1: 3, D2: 20, Lambda: 10}.Survival(3.1) }},
		{"NoncentralF/Survival/Lambda=1000", func() float64 { return NoncentralF{D1: 3, D2: 20, Lambda: 1000}.Survival(300) }},
		{"NoncentralityT", func() float64 { return NoncentralityT(20, 2.086, 0.9) }},
		{"NoncentralityF", func() float64 { return NoncentralityF(3, 20, 3.098, 0.9) }},
		{"NoncentralTDelta", func() float64 { return NoncentralTDelta(20, 2.09, 0.025) }},
		{"StudentizedRange/Survival", func() float64 { return StudentizedRange{Groups: 5, DF: 20}.Survival(4.1) }},
		{"StudentizedRange/Survival/DF=1", func() float64 { return StudentizedRange{Groups: 5, DF: 1}.Survival(40) }},
		{"StudentizedRange/UpperQuantile", func() float64 { return StudentizedRange{Groups: 5, DF: 20}.UpperQuantile(0.05) }},
		{"ManyToOneT/Survival", func() float64 { return dunnett.Survival(2.5, true) }},
		{"ManyToOneT/UpperQuantile", func() float64 { return dunnett.UpperQuantile(0.05, true) }},
		{"MultivariateT/Survival", func() float64 { p, _ := pairs.Survival(2.5, true); return p }},
		{"MultivariateT/Survival/nearly product", func() float64 { p, _ := MultivariateT{Corr: disturbed, DF: 20}.Survival(2.5, true); return p }},
		{"MultivariateT/UpperQuantile/nearly product", func() float64 { x, _ := MultivariateT{Corr: disturbed, DF: 20}.UpperQuantile(0.05, true); return x }},
	} {
		b.Run(c.name, func(b *testing.B) {
			sink = c.f()
			b.ReportAllocs()
			for b.Loop() {
				sink = c.f()
			}
		})
	}
}

// BenchmarkFirstUse makes the curve of a range law again, as the first question about a
// number of groups does.
func BenchmarkFirstUse(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		normalRanges.Delete(5)
		sink = StudentizedRange{Groups: 5, DF: 20}.Survival(4.1)
	}
}

// BenchmarkFirstCritical makes laws of 11 comparisons again and asks for a critical value, as each level of 12 in
// incomplete blocks does: near product structure about equal loadings and about those of each variable, and far from it.
func BenchmarkFirstCritical(b *testing.B) {
	disturbed := func(by float64, l ...float64) *mat.SymDense {
		corr := product(l...)
		for i := range l {
			for j := range i {
				corr.SetSym(i, j, corr.At(i, j)+by*float64((i*j+i+j)%5-2))
			}
		}
		return corr
	}
	for _, c := range []struct {
		name string
		corr *mat.SymDense
	}{
		{"alike", disturbed(0.01, equalLoadings(11)...)},
		{"unlike", disturbed(0.01, 0.5, 0.55, 0.6, 0.62, 0.65, 0.68, 0.7, 0.73, 0.76, 0.8, 0.85)},
		{"sampled", allPairs(5)},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				sink, _ = newMaximum(c.corr, false).upperQuantile(24, 0.05)
			}
		})
	}
}
