package linmod

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// campaign returns a model of rows runs in blocks with a drift covariate and
// treatments, and a response of normal noise about an effect of each.
func campaign(rows, blocks, levels int) (Model, []float64) {
	rng := rand.New(rand.NewPCG(1, 2))
	block := Factor{Name: "pack", Code: make([]int32, rows)}
	for b := range blocks {
		block.Levels = append(block.Levels, fmt.Sprint(b))
	}
	treatment := Factor{Name: "weakening", Code: make([]int32, rows)}
	for l := range levels {
		treatment.Levels = append(treatment.Levels, fmt.Sprint(l))
	}
	position := Covariate{Name: "position", Value: make([]float64, rows)}
	y := make([]float64, rows)
	for i := range y {
		block.Code[i] = int32(i * blocks / rows)
		treatment.Code[i] = int32(rng.IntN(levels))
		position.Value[i] = float64(i % (rows / blocks))
		y[i] = float64(treatment.Code[i]) + 3*rng.NormFloat64()
	}
	return Model{Blocks: []Factor{block}, Covariates: []Covariate{position}, Factors: []Factor{treatment}, Order: 1}, y
}

func benchmarkFit(b *testing.B, rows, blocks, levels int) {
	m, y := campaign(rows, blocks, levels)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Fit(m, y); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFit60(b *testing.B)   { benchmarkFit(b, 60, 5, 4) }
func BenchmarkFit100k(b *testing.B) { benchmarkFit(b, 100_000, 50, 8) }
func BenchmarkFit1M(b *testing.B)   { benchmarkFit(b, 1_000_000, 50, 8) }

// BenchmarkFitCells has nearly as many cells as rows.
func BenchmarkFitCells(b *testing.B) { benchmarkFit(b, 20_000, 2500, 10) }

// BenchmarkAnswers100k asks all that a verdict needs of one fit.
func BenchmarkAnswers100k(b *testing.B) {
	m, y := campaign(100_000, 50, 8)
	r, err := Fit(m, y)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		r.ANOVA()
		r.Joint()
		if means, err := r.Means(0); err != nil {
			b.Fatal(err)
		} else {
			means.All()
		}
		r.Residuals()
		r.Leverages()
	}
}
