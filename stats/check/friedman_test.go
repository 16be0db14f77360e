package check

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestFriedmanAgainstR(t *testing.T) {
	var ref struct {
		Friedman []struct {
			Name string
			Y    []float64 // block after block, treatments in order
			K    int
			Want []float64
		}
	}
	readReference(t, "r.json", &ref)
	if len(ref.Friedman) != 3 {
		t.Fatalf("%d cases, want 3", len(ref.Friedman))
	}
	for _, c := range ref.Friedman {
		treatment, block := completeBlocks(len(c.Y), c.K)
		got, err := Friedman(c.Y, treatment, block)
		if err != nil {
			t.Errorf("%s: %v", c.Name, err)
			continue
		}
		wantResult(t, c.Name, got, c.Want, 1e-11)
	}
}

func completeBlocks(n, k int) (treatment, block []int32) {
	for i := range n {
		treatment, block = append(treatment, int32(i%k)), append(block, int32(i/k))
	}
	return treatment, block
}

// Designs that R has no test for: the covariance was found by going through
// every order within the blocks, in exact fractions.
func TestFriedmanOfAnyDesign(t *testing.T) {
	var ref struct {
		Friedman []struct {
			Name             string
			Y                []float64
			Treatment, Block []int32
			Want             []float64 // statistic, df, p
		}
	}
	readReference(t, "exact.json", &ref)
	if len(ref.Friedman) != 5 {
		t.Fatalf("%d cases, want 5", len(ref.Friedman))
	}
	for _, c := range ref.Friedman {
		got, err := Friedman(c.Y, c.Treatment, c.Block)
		if err != nil {
			t.Errorf("%s: %v", c.Name, err)
			continue
		}
		wantResult(t, c.Name, got, []float64{c.Want[0], c.Want[1], 0, c.Want[2]}, 1e-11)
	}
}

// Mack and Skillings's statistic from its own formula (1980; Hollander & Wolfe,
// section 7.9), for k treatments with c runs in each of n blocks and no ties:
//
//	MS = 12/(k(N+n)) · Σ (Sⱼ − (N+n)/2)²,  Sⱼ = rank sum of j / c,  N = nkc
func TestFriedmanIsMackSkillings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, c, n := rapid.IntRange(2, 4).Draw(t, "k"), rapid.IntRange(1, 3).Draw(t, "c"), rapid.IntRange(2, 4).Draw(t, "n")
		m := k * c
		var y []float64
		var treatment, block []int32
		sums := make([]float64, k)
		for b := range n {
			ranks := make([]int, m)
			for i := range ranks {
				ranks[i] = i + 1
			}
			for i, r := range rapid.Permutation(ranks).Draw(t, "ranks") {
				y, treatment, block = append(y, float64(10*b*b+r)), append(treatment, int32(i%k)), append(block, int32(b))
				sums[i%k] += float64(r) / float64(c)
			}
		}
		total := float64(n * m)
		want := 0.0
		for _, s := range sums {
			want += (s - (total+float64(n))/2) * (s - (total+float64(n))/2)
		}
		want *= 12 / (float64(k) * (total + float64(n)))
		got, err := Friedman(y, treatment, block)
		if err != nil || !near(got.Statistic, want, 1e-9) && math.Abs(got.Statistic-want) > 1e-12 || got.DF1 != float64(k-1) {
			t.Fatalf("Q = %v, %v, Mack-Skillings %v on %d", got, err, want, k-1)
		}
	})
}

// A rising change of the values of any block, and another numbering of treatments
// and blocks, change nothing; rows without a value, treatment or block do not count.
func TestFriedmanSeesRanksOnly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 25).Draw(t, "n")
		var y, y2 []float64
		var treatment, block, treatment2, block2 []int32
		for range n {
			v := float64(rapid.IntRange(-5, 5).Draw(t, "v"))
			tr, b := int32(rapid.IntRange(0, 3).Draw(t, "treatment")), int32(rapid.IntRange(0, 3).Draw(t, "block"))
			y, treatment, block = append(y, v), append(treatment, tr), append(block, b)
			y2 = append(y2, math.Exp(v/float64(b+1))+1000*float64(b), math.NaN(), 5, 6)
			treatment2 = append(treatment2, 3-tr, 0, -1, 2)
			block2 = append(block2, (b+2)%4, 0, 0, -1)
		}
		want, err := Friedman(y, treatment, block)
		got, err2 := Friedman(y2, treatment2, block2)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("errors %v and %v", err, err2)
		}
		if err == nil && (!near(got.Statistic, want.Statistic, 1e-9) && math.Abs(got.Statistic-want.Statistic) > 1e-12 || got.DF1 != want.DF1) {
			t.Fatalf("%v, want %v", got, want)
		}
	})
}

func TestFriedmanErrors(t *testing.T) {
	for _, c := range []struct {
		name             string
		y                []float64
		treatment, block []int32
		want             error
	}{
		{"nothing", nil, nil, nil, ErrNotRepeated},
		{"one run a block", []float64{1, 2}, []int32{0, 1}, []int32{0, 1}, ErrNotRepeated},
		{"one treatment a block", []float64{1, 2, 3, 4}, []int32{0, 0, 1, 1}, []int32{0, 0, 1, 1}, ErrNotRepeated},
		{"no spread", []float64{1, 1, 2, 2}, []int32{0, 1, 0, 1}, []int32{0, 0, 1, 1}, ErrNotRepeated},
		{"infinite", []float64{1, math.Inf(1)}, []int32{0, 1}, []int32{0, 0}, ErrInfinite},
	} {
		if got, err := Friedman(c.y, c.treatment, c.block); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, %v, want error %v", c.name, got, err, c.want)
		}
	}
}

func BenchmarkFriedman(b *testing.B) {
	for name, n := range map[string]int{"60 runs": 60, "100000 runs": 100_000} {
		y := golden(n)
		treatment, block := completeBlocks(n, 5)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Friedman(y, treatment, block); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
