package verdict

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

// same fails unless two numbers agree to a relative 1e-10.
func same(t rapid.TB, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-10*math.Abs(want)) {
		t.Fatalf("%s = %v, want %v", what, got, want)
	}
}

// TestTwoLevels: with two levels Tukey's and Dunnett's comparisons are Student's t, and F
// is its square.
func TestTwoLevels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawSound(t)
		c.d.Treatments = []linmod.Factor{{Name: "A", Levels: []string{"a0", "a1"}}}
		for i := range c.readings {
			c.d.Treatments[0].Code = append(c.d.Treatments[0].Code, int32(i%2))
		}
		c.q = Request{Compare: rapid.SampledFrom([]Compare{Pairs, Baseline}).Draw(t, "family"), Baseline: []string{"a0"}}
		r := c.judge(t, Raw, nil, 0, 1)
		if !r.Noise.SD.Known() {
			t.Skip("no noise")
		}
		got := r.Comparisons[0]
		x, df := float64(got.T), float64(got.DF)
		same(t, "F", float64(r.Overall.F), x*x)
		same(t, "p of F", float64(r.Overall.P), float64(got.P))
		same(t, "adjusted p", float64(got.PAdjusted), 2*law.T{DF: df}.Survival(math.Abs(x)))
		half := law.T{DF: df}.UpperQuantile(0.025) * float64(got.SE)
		same(t, "half of the interval", float64(got.High-got.Low)/2, half)

		c.better = "higher"
		c.q.Compare, c.q.OneSided = Baseline, true
		one := c.judge(t, Raw, nil, 0, 1).Comparisons[0]
		same(t, "one-sided p", float64(one.PAdjusted), law.T{DF: df}.Survival(x))
		same(t, "one-sided reach", float64(one.Estimate-one.Low), law.T{DF: df}.UpperQuantile(0.05)*float64(one.SE))
	})
}

// TestBalancedIsSequential: in a complete layout the sums of squares of Type II are those
// between the means, taken one term after the other in any order, and add up to the total.
func TestBalancedIsSequential(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		levels := []int{rapid.IntRange(2, 3).Draw(t, "packs"), rapid.IntRange(2, 4).Draw(t, "A"), rapid.IntRange(2, 3).Draw(t, "B")}
		repeats := rapid.IntRange(1, 2).Draw(t, "repeats")
		columns := make([]linmod.Factor, 3)
		for i, name := range []string{"pack", "A", "B"} {
			columns[i].Name = name
			for l := range levels[i] {
				columns[i].Levels = append(columns[i].Levels, fmt.Sprintf("%s%d", strings.ToLower(name), l))
			}
		}
		var c sound
		for run := range levels[0] * levels[1] * levels[2] * repeats {
			for i, of := range levels {
				columns[i].Code = append(columns[i].Code, int32(run%of))
				run /= of
			}
			c.readings = append(c.readings, int64(rng.IntN(20000)))
		}
		c.d.Blocks, c.d.Treatments, c.q.Interactions = columns[:1], columns[1:], true
		r := c.judge(t, Raw, nil, 0, 1)

		ss := map[string]float64{}
		for _, row := range r.ANOVA {
			ss[row.Term] = float64(row.SS)
		}
		packs, a, b := between(c.readings, columns[0]), between(c.readings, columns[1]), between(c.readings, columns[2])
		cells := between(c.readings, columns[1], columns[2])
		total := 0.0
		for _, v := range ss {
			total += v
		}
		same(t, "ss of packs", ss["pack"], packs)
		same(t, "ss of A", ss["A"], a)
		same(t, "ss of B", ss["B"], b)
		if want := cells - a - b; math.Abs(ss["A × B"]-want) > 1e-10*cells {
			t.Fatalf("ss of A × B = %v, want %v", ss["A × B"], want)
		}
		all := linmod.Factor{Code: make([]int32, len(c.readings))}
		for i := range all.Code {
			all.Code[i] = int32(i)
		}
		same(t, "total", total, between(c.readings, all))
	})
}

// between is the sum of squares between the means of runs that share the levels of
// some factors, readings being thousandths.
func between(readings []int64, factors ...linmod.Factor) float64 {
	sums, counts := map[string]int64{}, map[string]int64{}
	var sum int64
	for i, v := range readings {
		key := ""
		for _, f := range factors {
			key += fmt.Sprint(f.Code[i], " ")
		}
		sums[key] += v
		counts[key]++
		sum += v
	}
	keys := make([]string, 0, len(sums))
	for key := range sums {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	mean := float64(sum) / float64(len(readings))
	ss := 0.0
	for _, key := range keys {
		d := float64(sums[key])/float64(counts[key]) - mean
		ss += float64(counts[key]) * d * d
	}
	return ss / 1e6
}
