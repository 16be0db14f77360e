package check

import (
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"fairrun/stats/law"
)

type groupTest func([][]float64) (Result, error)

var groupTests = map[string]groupTest{
	"BrownForsythe": BrownForsythe, "HinesHines": HinesHines, "Bartlett": Bartlett, "Welch": Welch, "KruskalWallis": KruskalWallis,
}

func TestGroupTestsAgainstR(t *testing.T) {
	var ref struct {
		Grouped []struct {
			Name                                                      string
			Groups                                                    [][]float64
			BrownForsythe, HinesHines, Bartlett, Welch, KruskalWallis []float64
		}
	}
	readReference(t, "r.json", &ref)
	if len(ref.Grouped) < 8 {
		t.Fatalf("%d groups of reference data, want 8", len(ref.Grouped))
	}
	for _, c := range ref.Grouped {
		want := map[string][]float64{"BrownForsythe": c.BrownForsythe, "HinesHines": c.HinesHines, "Bartlett": c.Bartlett, "Welch": c.Welch, "KruskalWallis": c.KruskalWallis}
		for name, test := range groupTests {
			got, err := test(c.Groups)
			if err != nil {
				t.Errorf("%s(%s): %v", name, c.Name, err)
				continue
			}
			if c.Name == "equal means" && name == "Welch" {
				// R leaves 1e-31 where the statistic is exactly 0.
				if got.Statistic != 0 || got.P != 1 {
					t.Errorf("Welch of equal means = %v, want 0 and 1", got)
				}
				continue
			}
			wantResult(t, name+" "+c.Name, got, want[name], 1e-11)
		}
	}
}

func TestGroupErrors(t *testing.T) {
	inf := math.Inf(1)
	nan := math.NaN()
	for _, c := range []struct {
		test   string
		groups [][]float64
		want   error
		group  int // −1: not about one group
	}{
		{"Welch", nil, ErrOneGroup, -1},
		{"Welch", [][]float64{{1, 2}, {nan}}, ErrOneGroup, -1},
		{"Welch", [][]float64{{1, 2}, {}, {3}}, ErrLoneRun, 2},
		{"Welch", [][]float64{{1, 2}, {3, 3, nan}}, ErrNoSpread, 1},
		{"Welch", [][]float64{{1, 2}, {3, inf}}, ErrInfinite, 1},
		// 0.1 three times: its mean is not 0.1 in floating point.
		{"Bartlett", [][]float64{{0.1, 0.1, 0.1}, {1, 2}}, ErrNoSpread, 0},
		{"Bartlett", [][]float64{{1}, {1, 2}}, ErrLoneRun, 0},
		{"BrownForsythe", [][]float64{{1, 2}, {3, 5}, {4}}, ErrPairs, -1},
		{"BrownForsythe", [][]float64{{1, 1, 1}, {2, 2, 2}}, ErrNoSpread, -1},
		{"BrownForsythe", [][]float64{{0.1, 0.3}, {2, 2, 2}}, ErrNoSpread, -1},
		{"HinesHines", [][]float64{{1, 2}, {3, 5}, {4}}, ErrPairs, -1},
		{"HinesHines", [][]float64{{1, 2, 3}, {4, 5, 6}}, ErrNoSpread, -1},
		// Equally spaced readings: 41.4−41.3 and 41.3−41.2 differ in floating point only.
		{"HinesHines", [][]float64{{41.2, 41.3, 41.4}, {43.1, 43.5, 43.9}}, ErrNoSpread, -1},
		{"HinesHines", [][]float64{{1, 2, 4}, {4}}, ErrOneGroup, -1},
		{"KruskalWallis", [][]float64{{2, 2}, {2}}, ErrConstant, -1},
		{"KruskalWallis", [][]float64{{2, 2}}, ErrOneGroup, -1},
	} {
		_, err := groupTests[c.test](c.groups)
		if !errors.Is(err, c.want) {
			t.Errorf("%s(%v): error %v, want %v", c.test, c.groups, err, c.want)
		}
		var g *GroupError
		if at := errors.As(err, &g); at != (c.group >= 0) || at && g.Group != c.group {
			t.Errorf("%s(%v): error %v, want it to name group %d", c.test, c.groups, err, c.group)
		}
	}
}

// drawGroups draws 2 to 5 groups of 2 to 8 values on a grid of halves, so that
// ties are common and shifting by whole numbers is exact.
func drawGroups(t *rapid.T) [][]float64 {
	value := rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-40, 40).Draw(t, "half")) / 2 })
	return rapid.SliceOfN(rapid.SliceOfN(value, 2, 8), 2, 5).Draw(t, "groups")
}

func TestGroupTestsIgnoreUnitsAndOrder(t *testing.T) {
	for name, test := range groupTests {
		rapid.Check(t, func(t *rapid.T) {
			groups := drawGroups(t)
			want, err := test(groups)
			moved := make([][]float64, 0, len(groups)+1)
			shift, scale := float64(rapid.IntRange(-1000, 1000).Draw(t, "shift")), rapid.SampledFrom([]float64{-4, 0.25, 1, 1024}).Draw(t, "scale")
			for _, g := range groups {
				m := []float64{math.NaN()} // a missing value is passed over
				for _, v := range g {
					m = append(m, scale*v+shift)
				}
				moved = append(moved, m)
			}
			moved = append(moved, nil) // and so is a group without values
			slices.Reverse(moved)
			got, err2 := test(moved)
			if (err == nil) != (err2 == nil) {
				t.Fatalf("%s: errors %v and %v of the same data in other units", name, err, err2)
			}
			if err != nil {
				return
			}
			if !near(got.Statistic, want.Statistic, 1e-9) && math.Abs(got.Statistic-want.Statistic) > 1e-12 ||
				!near(got.DF2, want.DF2, 1e-9) || !near(got.P, want.P, 1e-8) {
				t.Fatalf("%s = %v in other units and order, want %v", name, got, want)
			}
			if !(got.P >= 0 && got.P <= 1) || !(got.Statistic >= 0) {
				t.Fatalf("%s = %v", name, got)
			}
		})
	}
}

// With two groups Welch's F is the square of Welch's t.
func TestWelchOfTwoGroupsIsWelchsT(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		groups := drawGroups(t)[:2]
		got, err := Welch(groups)
		if err != nil {
			return
		}
		a, b := groups[0], groups[1]
		ma, va := stat.MeanVariance(a, nil)
		mb, vb := stat.MeanVariance(b, nil)
		sa, sb := va/float64(len(a)), vb/float64(len(b))
		df := (sa + sb) * (sa + sb) / (sa*sa/float64(len(a)-1) + sb*sb/float64(len(b)-1))
		tt := (ma - mb) / math.Sqrt(sa+sb)
		if !near(got.Statistic, tt*tt, 1e-9) && math.Abs(got.Statistic-tt*tt) > 1e-20 || !near(got.DF2, df, 1e-10) {
			t.Fatalf("Welch = %v, want F %v on 1 and %v", got, tt*tt, df)
		}
		if want := 2 * (law.T{DF: df}).Survival(math.Abs(tt)); !near(got.P, want, 1e-8) {
			t.Fatalf("Welch P = %v, want %v", got.P, want)
		}
	})
}

// With two groups Kruskal-Wallis is the square of the rank sum test's z, and of
// Dunn's, which must then have the same p-value.
func TestKruskalWallisOfTwoGroupsIsDunnsSquared(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		groups := drawGroups(t)[:2]
		h, err := KruskalWallis(groups)
		pairs, err2 := Dunn(groups)
		if err != nil || err2 != nil {
			if (err == nil) != (err2 == nil) {
				t.Fatalf("errors %v and %v", err, err2)
			}
			return
		}
		if z := pairs[0].Z; !near(h.Statistic, z*z, 1e-9) && math.Abs(h.Statistic-z*z) > 1e-20 || !near(h.P, pairs[0].P, 1e-8) {
			t.Fatalf("H = %v, z = %v", h, pairs[0])
		}
		// Rank sum: U counts the pairs won, half for a tie.
		u := 0.0
		for _, a := range groups[0] {
			for _, b := range groups[1] {
				switch {
				case b > a:
					u++
				case b == a:
					u += 0.5
				}
			}
		}
		n1, n2 := float64(len(groups[0])), float64(len(groups[1]))
		if d := (u - n1*n2/2) * (n1 + n2) / (n1 * n2); math.Abs(d-pairs[0].Difference) > 1e-9 {
			t.Fatalf("mean ranks differ by %v, pairs won say %v", pairs[0].Difference, d)
		}
	})
}

func TestLargeCommonPartLosesNothing(t *testing.T) {
	small := [][]float64{{1, 2, 4, 8}, {3, 5, 5, 9}, {2, 2, 7, 1}}
	large := make([][]float64, len(small))
	for i, g := range small {
		for _, v := range g {
			large[i] = append(large[i], v+1<<40)
		}
	}
	for name, test := range groupTests {
		want, _ := test(small)
		got, err := test(large)
		if err != nil || !near(got.Statistic, want.Statistic, 1e-12) {
			t.Errorf("%s with 2^40 added = %v, %v, want %v", name, got, err, want)
		}
	}
}
