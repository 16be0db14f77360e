package power

import (
	"testing"

	"fairrun/stats/compare"
)

var sink float64

func BenchmarkPower(b *testing.B) {
	p := Precision{SE: 0.5, DF: 24}
	for name, f := range map[string]compare.Family{"single": compare.Single{}, "pairs": compare.Pairs{Levels: 4}, "baseline": compare.Baseline{Levels: 4}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			c := Test{Family: f, Alpha: 0.05}
			for b.Loop() {
				sink, _ = c.Power(2, 1.5, p)
			}
		})
	}
}

func BenchmarkWords(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		w := words(4, 1, estimate{df: 24}, 2.76)
		sink = w.Equal
	}
}

func BenchmarkNeeded(b *testing.B) {
	c := Test{Family: compare.Pairs{Levels: 4}, Alpha: 0.05}
	g := Design{Treatments: 4, Blocks: 1, Replicates: 2, Drift: 1}.ByBlocks()
	t := Target{Margin: 2, Noise: Scatter{SD: 1.5, DF: 24}, Power: 0.9}
	b.Run("estimate", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			a, _ := c.Needed(t, g, 100)
			sink = a.Power
		}
	})
	b.Run("assured", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			a, _ := c.NeededAssured(t, g, 100)
			sink = a.Power
		}
	})
}

func BenchmarkLooks(b *testing.B) {
	for name, k := range map[string]int{"3": 3, "10": 10} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			s := Schedule{Alpha: 0.05, Fractions: equalFractions(k)}
			for b.Loop() {
				sink = s.Looks()[k-1].Level
			}
		})
	}
}
