package resample

import (
	"context"
	"math"
	"reflect"
	"runtime"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fairrun/stats/linmod"
)

// trial is a random small campaign.
type trial struct {
	d       *Design
	each    int
	y       []float64
	sampler func(chunk int) func([]int32)
}

func drawTrial(t *rapid.T) trial {
	treatments := rapid.IntRange(2, 4).Draw(t, "treatments")
	blocks := rapid.IntRange(2, 4).Draw(t, "blocks")
	replicates := rapid.IntRange(1, 3).Draw(t, "replicates")
	tr := trial{d: campaign(treatments, blocks, replicates), each: treatments * replicates}
	tr.d.Alpha = 0.1
	if rapid.Bool().Draw(t, "own lines") {
		tr.d.Slots.Covariates[0].By = &tr.d.Slots.Blocks[0]
	}
	tr.sampler = sampler(tr.d, tr.each, rapid.Uint64().Draw(t, "orders"))
	tr.sampler(1 << 20)(tr.d.Drawn)
	tr.y = normals(len(tr.d.Drawn), rapid.Uint64().Draw(t, "noise"))
	for i := range tr.y {
		tr.y[i] += rapid.Float64Range(0, 2).Draw(t, "effect") * float64(tr.d.Drawn[i])
	}
	for range rapid.IntRange(0, 2).Draw(t, "missing") {
		tr.y[rapid.IntRange(0, len(tr.y)-1).Draw(t, "slot")] = math.NaN()
	}
	return tr
}

// sample makes a test of the trial's design with 600 draws.
func (tr *trial) sample(t *rapid.T, d *Design, y []float64, s func(chunk int) func([]int32)) Result {
	test, err := d.Test(y)
	if err != nil {
		t.Skip(err)
	}
	r, err := Sample(context.Background(), 600, s, test)
	if err != nil {
		t.Fatal(err)
	}
	return r[0]
}

// TestInvariance shifts the response by what blocks and drift may do, scales it,
// and relabels the treatments: p-values stay, estimates follow.
func TestInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := drawTrial(t)
		want := tr.sample(t, tr.d, tr.y, tr.sampler)

		scale := rapid.SampledFrom([]float64{-3, 0.001, 1e6, 0x1p300, 0x1p-300}).Draw(t, "scale")
		moved := make([]float64, len(tr.y))
		for i, v := range tr.y {
			drift := 5*float64(tr.d.Slots.Blocks[0].Code[i]) - 0.7*tr.d.Slots.Covariates[0].Value[i]
			moved[i] = scale * (v + 10 + drift)
		}
		if math.Abs(scale) > 1e100 || math.Abs(scale) < 1e-100 {
			t.Skip("squares of the response do not fit a float64")
		}
		got := tr.sample(t, tr.d, moved, tr.sampler)
		if !near(got.F, want.F, 1e-7) || !slices.EqualFunc(pValues(got), pValues(want), same) {
			t.Fatalf("shifted and scaled: F %v, p %v; want %v, %v", got.F, pValues(got), want.F, pValues(want))
		}
		for k, c := range got.Families[0].Comparisons {
			w := want.Families[0].Comparisons[k]
			low, high := scale*w.Low, scale*w.High
			if scale < 0 {
				low, high = high, low
			}
			if !c.Estimable {
				continue
			}
			for _, pair := range [][2]float64{{c.Estimate, scale * w.Estimate}, {c.Low, low}, {c.High, high}} {
				if pair[0] != pair[1] && math.Abs(pair[0]-pair[1]) > 1e-6*math.Abs(scale)*max(w.SE, math.Abs(pair[1]/scale)) {
					t.Fatalf("scaled by %v: %v, want %v", scale, pair[0], pair[1])
				}
			}
		}

		// Treatment k is called names[k].
		names := rapid.Permutation([]int32{0, 1, 2, 3}[:tr.d.Treatments]).Draw(t, "names")
		other := *tr.d
		other.Drawn = rename(slices.Clone(tr.d.Drawn), names)
		got = tr.sample(t, &other, tr.y, func(chunk int) func([]int32) {
			fill := tr.sampler(chunk)
			return func(order []int32) { fill(order); rename(order, names) }
		})
		if !near(got.F, want.F, 1e-7) || got.P != want.P {
			t.Fatalf("relabelled: F %v, P %v; want %v, %v", got.F, got.P, want.F, want.P)
		}
		sorted := func(r Result) []float64 { p := pValues(r); slices.Sort(p); return p }
		if !slices.EqualFunc(sorted(got), sorted(want), same) && !slices.ContainsFunc(want.Families[0].Comparisons, func(c Answer) bool { return !c.Estimable }) {
			t.Fatalf("relabelled: %v, want %v", sorted(got), sorted(want))
		}
	})
}

func rename(order, names []int32) []int32 {
	for i, k := range order {
		order[i] = names[k]
	}
	return order
}

// TestMissing leaves slots out in two ways: without a response, and not there at
// all.
func TestMissing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := drawTrial(t)
		want := tr.sample(t, tr.d, tr.y, tr.sampler)
		short := *tr.d
		short.Drawn = nil
		block := tr.d.Slots.Blocks[0]
		line := tr.d.Slots.Covariates[0]
		var kept []int
		var y, value []float64
		var code []int32
		for i, v := range tr.y {
			if !math.IsNaN(v) {
				kept = append(kept, i)
				y = append(y, v)
				value = append(value, line.Value[i])
				code = append(code, block.Code[i])
				short.Drawn = append(short.Drawn, tr.d.Drawn[i])
			}
		}
		pack := linmod.Factor{Name: block.Name, Levels: block.Levels, Code: code}
		position := linmod.Covariate{Name: line.Name, Value: value}
		if line.By != nil {
			position.By = &pack
		}
		short.Slots = linmod.Model{Blocks: []linmod.Factor{pack}, Covariates: []linmod.Covariate{position}}
		got := tr.sample(t, &short, y, func(chunk int) func([]int32) {
			fill, whole := tr.sampler(chunk), make([]int32, len(tr.y))
			return func(order []int32) {
				fill(whole)
				for i, slot := range kept {
					order[i] = whole[slot]
				}
			}
		})
		if got.F != want.F || !slices.EqualFunc(pValues(got), pValues(want), same) {
			t.Fatalf("F %v, p %v; want %v, %v", got.F, pValues(got), want.F, pValues(want))
		}
	})
}

// same reports whether two numbers are equal or both are missing.
func same(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

// TestIntervalInverts shifts the runs of one of two treatments until the
// difference is no longer rejected: just inside the interval it is not, just
// outside it is.
func TestIntervalInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := drawTrial(t)
		if tr.d.Treatments != 2 {
			t.Skip("the test is exact for two treatments")
		}
		c := tr.sample(t, tr.d, tr.y, tr.sampler).Families[0].Comparisons[0]
		p := func(delta float64) float64 {
			y := slices.Clone(tr.y)
			for i, k := range tr.d.Drawn {
				y[i] -= delta * float64(k)
			}
			return tr.sample(t, tr.d, y, tr.sampler).P
		}
		step := 1e-5 * c.SE
		for end, sign := range map[float64]float64{c.Low: -1, c.High: 1} {
			if math.IsInf(end, 0) {
				if far := c.Estimate + sign*1000*c.SE; p(far) <= tr.d.Alpha {
					t.Fatalf("interval is infinite, but %v is rejected", far)
				}
				continue
			}
			if in, out := p(end-sign*step), p(end+sign*step); in <= tr.d.Alpha || out > tr.d.Alpha {
				t.Fatalf("p inside of %v is %v, outside %v", end, in, out)
			}
		}
	})
}

// TestDeterministic makes the same tests on one and on many processors, together
// and one by one.
func TestDeterministic(t *testing.T) {
	d := campaign(4, 5, 3)
	whole, torn := normals(60, 1), normals(60, 2)
	torn[17] = math.NaN()
	var tests []*Test
	for _, y := range [][]float64{whole, torn, normals(60, 3)} {
		test, err := d.Test(y)
		if err != nil {
			t.Fatal(err)
		}
		tests = append(tests, test)
	}
	s := sampler(d, 12, 9)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	var want []Result
	for _, test := range tests {
		r, err := Sample(context.Background(), 3000, s, test)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, r...)
	}
	for _, processors := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(processors)
		got, err := Sample(context.Background(), 3000, s, tests...)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("on %d processors: %+v, want %+v", processors, got, want)
		}
	}
}
