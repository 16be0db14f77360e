package resample

import (
	"context"
	"math/rand/v2"
	"testing"

	"fairrun/stats/linmod"
)

// campaign is a design of complete blocks with a line of drift through all of
// them, and the index of its block for every slot.
func campaign(treatments, blocks, replicates int) *Design {
	each := treatments * replicates
	n := each * blocks
	pack := linmod.Factor{Name: "pack", Levels: make([]string, blocks), Code: make([]int32, n)}
	position := linmod.Covariate{Name: "position", Value: make([]float64, n)}
	d := &Design{Treatments: treatments, Drawn: make([]int32, n), Families: []Family{Pairs(treatments)}, Alpha: 0.05}
	for i := range n {
		pack.Code[i] = int32(i / each)
		position.Value[i] = float64(i % each)
	}
	d.Slots = linmod.Model{Blocks: []linmod.Factor{pack}, Covariates: []linmod.Covariate{position}}
	shuffles(each, 1)(0)(d.Drawn, treatments)
	return d
}

// shuffles returns a sampler of random orders within blocks of so many runs.
func shuffles(each int, seed uint64) func(chunk int) func(order []int32, treatments int) {
	return func(chunk int) func([]int32, int) {
		rng := rand.New(rand.NewPCG(seed, uint64(chunk)))
		return func(order []int32, treatments int) {
			for at := 0; at < len(order); at += each {
				b := order[at : at+each]
				for i := range b {
					b[i] = int32(i % treatments)
				}
				for i := len(b) - 1; i > 0; i-- {
					j := rng.IntN(i + 1)
					b[i], b[j] = b[j], b[i]
				}
			}
		}
	}
}

func sampler(d *Design, each int, seed uint64) func(chunk int) func(order []int32) {
	s := shuffles(each, seed)
	return func(chunk int) func([]int32) {
		f := s(chunk)
		return func(order []int32) { f(order, d.Treatments) }
	}
}

func normals(n int, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 7))
	y := make([]float64, n)
	for i := range y {
		y[i] = rng.NormFloat64()
	}
	return y
}

func benchmarkSample(b *testing.B, treatments, blocks, replicates, responses int, alpha float64) {
	d := campaign(treatments, blocks, replicates)
	d.Alpha = alpha
	benchmarkDesign(b, d, sampler(d, treatments*replicates, 3), responses)
}

func benchmarkDesign(b *testing.B, d *Design, s func(chunk int) func(order []int32), responses int) {
	var tests []*Test
	for r := range responses {
		t, err := d.Test(normals(len(d.Drawn), uint64(r+1)))
		if err != nil {
			b.Fatal(err)
		}
		tests = append(tests, t)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Sample(context.Background(), 10_000, s, tests...); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSample makes 10,000 draws of 60 runs: 4 treatments in 5 blocks, with
// drift, all pairs, and intervals. Drawing is included.
func BenchmarkSample(b *testing.B) { benchmarkSample(b, 4, 5, 3, 1, 0.05) }

func BenchmarkSampleWithoutIntervals(b *testing.B) { benchmarkSample(b, 4, 5, 3, 1, 0) }
func BenchmarkSampleFourResponses(b *testing.B)    { benchmarkSample(b, 4, 5, 3, 4, 0.05) }
func BenchmarkSampleTwelveTreatments(b *testing.B) { benchmarkSample(b, 12, 5, 1, 1, 0.05) }
func BenchmarkSampleTwoTreatments(b *testing.B)    { benchmarkSample(b, 2, 5, 6, 1, 0.05) }

// BenchmarkSampleWholePlots makes 10,000 draws of 60 runs: 2 settings that are hard to
// change by 3 that are not, in 10 packs of 2 whole plots, with drift, all 15 pairs, and
// intervals.
func BenchmarkSampleWholePlots(b *testing.B) {
	d, s := splitPlot()
	benchmarkDesign(b, d, s, 1)
}

// splitPlot returns the design of that benchmark, and its sampler.
func splitPlot() (*Design, func(chunk int) func(order []int32)) {
	d := campaign(6, 10, 1)
	d.Plots = make([]int32, 60)
	for i := range d.Plots {
		d.Plots[i] = int32(i / 3)
	}
	s := func(chunk int) func([]int32) {
		rng := rand.New(rand.NewPCG(3, uint64(chunk)))
		return func(order []int32) {
			for at := 0; at < len(order); at += 6 {
				first := rng.IntN(2)
				for i, easy := range rng.Perm(3) {
					order[at+i] = int32(3*first + easy)
				}
				for i, easy := range rng.Perm(3) {
					order[at+3+i] = int32(3*(1-first) + easy)
				}
			}
		}
	}
	s(999)(d.Drawn)
	return d, s
}

// BenchmarkShuffle is what drawing 10,000 orders costs the benchmarks above, on
// one processor.
func BenchmarkShuffle(b *testing.B) {
	d := campaign(4, 5, 3)
	fill := sampler(d, 12, 3)(0)
	order := make([]int32, 60)
	for b.Loop() {
		for range 10_000 {
			fill(order)
		}
	}
}
