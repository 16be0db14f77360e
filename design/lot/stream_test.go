package lot_test

import (
	"encoding/json"
	"os"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat/distuv"

	"fairrun/design/lot"
)

// reference is what testdata/stream.py computes from its own ChaCha8.
type reference struct {
	Words    []string
	Below    [][2]uint64
	Shuffles [][]int
}

func TestStreamAgainstReference(t *testing.T) {
	t.Parallel()
	data, err := os.ReadFile("testdata/stream.json")
	if err != nil {
		t.Fatal(err)
	}
	var want reference
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}

	s := lot.New(41, 0)
	var words []string
	for i := range 400 {
		w := s.Uint64()
		if i < 5 || i >= 120 && i < 130 || i >= 390 {
			words = append(words, strconv.FormatUint(w, 10))
		}
	}
	if diff := cmp.Diff(want.Words, words); diff != "" {
		t.Errorf("words differ (-want +got):\n%s", diff)
	}

	s = lot.New(1<<64-1, 1<<32)
	for _, pair := range want.Below {
		if got := s.Below(pair[0]); got != pair[1] {
			t.Errorf("Below(%d) = %d, want %d", pair[0], got, pair[1])
		}
	}

	s = lot.New(7, 5)
	for _, row := range want.Shuffles {
		x := make([]int, len(row))
		for i := range x {
			x[i] = i
		}
		lot.Shuffle(s, x)
		if diff := cmp.Diff(row, x); diff != "" {
			t.Errorf("shuffle of %d differs (-want +got):\n%s", len(row), diff)
		}
	}
}

// chiSquared returns the p value of counts against equal shares.
func chiSquared(counts []int) float64 {
	var n int
	for _, c := range counts {
		n += c
	}
	e := float64(n) / float64(len(counts))
	var x float64
	for _, c := range counts {
		x += (float64(c) - e) * (float64(c) - e) / e
	}
	return distuv.ChiSquared{K: float64(len(counts) - 1)}.Survival(x)
}

// unlikely is the p value under which a fixed seed's counts are taken for a fault.
const unlikely = 1e-4

func TestBelowIsUniform(t *testing.T) {
	t.Parallel()
	s := lot.New(3, 0)
	for _, n := range []int{2, 3, 7, 10, 100} {
		counts := make([]int, n)
		for range 1000 * n {
			counts[s.Below(uint64(n))]++
		}
		if p := chiSquared(counts); p < unlikely {
			t.Errorf("Below(%d): counts %v, p = %g", n, counts, p)
		}
	}
	// Three quarters of 2⁶⁴: a draw that did not reject would give twice as many in every third place.
	counts := make([]int, 3)
	for range 30_000 {
		counts[s.Below(3<<62)>>62]++
	}
	if p := chiSquared(counts); p < unlikely {
		t.Errorf("Below(3·2⁶²): counts by third %v, p = %g", counts, p)
	}
}

func TestBelowPanicsOnAnEmptyRange(t *testing.T) {
	t.Parallel()
	defer func() {
		if recover() == nil {
			t.Error("Below(0) returned")
		}
	}()
	lot.New(1, 0).Below(0)
}

func TestShuffleIsUniform(t *testing.T) {
	t.Parallel()
	s := lot.New(3, 1)
	for _, n := range []int{2, 3, 4, 5, 6} {
		counts := map[string]int{}
		all := 1
		for i := 2; i <= n; i++ {
			all *= i
		}
		for range 50 * all {
			x := []byte("abcdef")[:n]
			lot.Shuffle(s, x)
			counts[string(x)]++
		}
		var list []int
		for _, c := range counts {
			list = append(list, c)
		}
		for len(list) < all {
			list = append(list, 0)
		}
		if p := chiSquared(list); p < unlikely {
			t.Errorf("shuffle of %d: p = %g over %d orders", n, p, all)
		}
	}
}

// TestShuffleOfManyPlaces looks at where each element of a slice longer than a batch ends.
func TestShuffleOfManyPlaces(t *testing.T) {
	t.Parallel()
	const n = 40
	s := lot.New(3, 2)
	var at [n][n]int
	x := make([]int, n)
	for range 20_000 {
		for i := range x {
			x[i] = i
		}
		lot.Shuffle(s, x)
		for i, v := range x {
			at[v][i]++
		}
	}
	for v := range at {
		if p := chiSquared(at[v][:]); p < unlikely {
			t.Errorf("element %d: counts by place %v, p = %g", v, at[v], p)
		}
	}
}
