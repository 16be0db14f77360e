package mixed

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"fairrun/stats/linmod"
)

// layout returns a campaign of rows runs, its factors coded by the functions given,
// and a response with noise of variance 1 and the given variance between the
// levels of each random factor.
func layout(rows int, treatments int, random ...spread) (Model, []float64) {
	rng := rand.New(rand.NewPCG(3, 4))
	var m Model
	y := make([]float64, rows)
	f := linmod.Factor{Name: "weakening", Code: make([]int32, rows)}
	for l := range treatments {
		f.Levels = append(f.Levels, fmt.Sprint(l))
	}
	position := linmod.Covariate{Name: "position", Value: make([]float64, rows)}
	for i := range y {
		f.Code[i] = int32(rng.IntN(treatments))
		position.Value[i] = float64(i % 12)
		y[i] = float64(f.Code[i]) + rng.NormFloat64()
	}
	for k, s := range random {
		g := linmod.Factor{Name: fmt.Sprint("random", k), Code: make([]int32, rows)}
		effect := make([]float64, s.levels)
		for l := range s.levels {
			g.Levels = append(g.Levels, fmt.Sprint(l))
			effect[l] = s.sd * rng.NormFloat64()
		}
		for i := range y {
			g.Code[i] = int32(s.level(i))
			y[i] += effect[g.Code[i]]
		}
		m.Random = append(m.Random, g)
	}
	m.Fixed = linmod.Model{Covariates: []linmod.Covariate{position}, Factors: []linmod.Factor{f}, Order: 1}
	return m, y
}

type spread struct {
	levels int
	sd     float64
	level  func(row int) int
}

// benchmark fits a model and asks all that a verdict needs.
func benchmark(b *testing.B, m Model, y []float64) {
	b.ReportAllocs()
	for b.Loop() {
		r, err := Fit(m, y)
		if err != nil {
			b.Fatal(err)
		}
		r.ANOVA()
		means, err := r.Means(0)
		if err != nil {
			b.Fatal(err)
		}
		means.All()
	}
}

func Benchmark60Packs(b *testing.B) {
	m, y := layout(60, 4, spread{5, 1, func(i int) int { return i / 12 }})
	benchmark(b, m, y)
}

func Benchmark60SpecimensAndWholePlots(b *testing.B) {
	m, y := layout(60, 4, spread{5, 1, func(i int) int { return i / 12 }}, spread{20, 0.5, func(i int) int { return i / 3 }})
	benchmark(b, m, y)
}

func Benchmark60Crossed(b *testing.B) {
	m, y := layout(60, 4, spread{5, 1, func(i int) int { return i / 12 }}, spread{6, 0.5, func(i int) int { return i % 6 }})
	benchmark(b, m, y)
}

func Benchmark10kIn200Packs(b *testing.B) {
	m, y := layout(10_000, 8, spread{200, 1, func(i int) int { return i / 50 }})
	benchmark(b, m, y)
}

func Benchmark10kIn200PacksOf20Specimens(b *testing.B) {
	m, y := layout(10_000, 8, spread{20, 1, func(i int) int { return i / 500 }}, spread{200, 0.5, func(i int) int { return i / 50 }})
	benchmark(b, m, y)
}

func Benchmark10kIn200PacksBy150Sessions(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	m, y := layout(10_000, 8, spread{200, 1, func(int) int { return rng.IntN(200) }}, spread{150, 0.5, func(int) int { return rng.IntN(150) }})
	benchmark(b, m, y)
}

func Benchmark10kIn5000Specimens(b *testing.B) {
	m, y := layout(10_000, 8, spread{5000, 1, func(i int) int { return i / 2 }})
	benchmark(b, m, y)
}

// BenchmarkIntervals60 profiles the likelihood for three components.
func BenchmarkIntervals60(b *testing.B) {
	m, y := layout(60, 4, spread{5, 1, func(i int) int { return i / 12 }}, spread{20, 0.5, func(i int) int { return i / 3 }})
	r, err := Fit(m, y)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Intervals(0.95); err != nil {
			b.Fatal(err)
		}
	}
}
