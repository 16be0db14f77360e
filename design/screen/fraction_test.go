package screen_test

import (
	"fmt"
	"slices"
	"testing"

	"fairrun/design/screen"
)

// TestMinimumAberration: numbers of words of length 3, 4, 5 of the fractions of minimum aberration
// (Box, Hunter & Hunter, table 12.15; Wu & Hamada, tables 4A; both from memory).
func TestMinimumAberration(t *testing.T) {
	for _, c := range []struct {
		factors, runs, resolution int
		words                     [3]int
	}{
		{3, 4, 3, [3]int{1}},
		{4, 8, 4, [3]int{0, 1}}, {5, 8, 3, [3]int{2, 1}}, {6, 8, 3, [3]int{4, 3}}, {7, 8, 3, [3]int{7, 7}},
		{5, 16, 5, [3]int{0, 0, 1}}, {6, 16, 4, [3]int{0, 3}}, {7, 16, 4, [3]int{0, 7}}, {8, 16, 4, [3]int{0, 14}},
		{9, 16, 3, [3]int{4, 14, 8}}, {10, 16, 3, [3]int{8, 18, 16}}, {11, 16, 3, [3]int{12, 26, 28}}, {12, 16, 3, [3]int{16, 39, 48}},
		{13, 16, 3, [3]int{22, 55, 72}}, {14, 16, 3, [3]int{28, 77, 112}}, {15, 16, 3, [3]int{35, 105, 168}},
		{6, 32, 6, [3]int{}}, {7, 32, 4, [3]int{0, 1, 2}}, {8, 32, 4, [3]int{0, 3, 4}}, {9, 32, 4, [3]int{0, 6, 8}}, {10, 32, 4, [3]int{0, 10, 16}},
		{11, 32, 4, [3]int{0, 25}}, {12, 32, 4, [3]int{0, 38}}, {13, 32, 4, [3]int{0, 55}}, {14, 32, 4, [3]int{0, 77}}, {15, 32, 4, [3]int{0, 105}},
	} {
		f, err := screen.Regular(c.factors, c.runs)
		if err != nil {
			t.Errorf("%v: %v", c, err)
			continue
		}
		if f.Resolution != c.resolution {
			t.Errorf("%d factors in %d runs: resolution %d, want %d", c.factors, c.runs, f.Resolution, c.resolution)
		}
		var words [3]int
		for i := range words {
			if 3+i <= c.factors {
				words[i] = f.Pattern[3+i]
			}
		}
		if words != c.words {
			t.Errorf("%d factors in %d runs: %v words of length 3, 4, 5, want %v", c.factors, c.runs, words, c.words)
		}
		checkFraction(t, f)
	}
}

// checkFraction checks levels against words: each defining word has the product of signs it says,
// and two factors are orthogonal.
func checkFraction(t *testing.T, f *screen.Fraction) {
	t.Helper()
	for _, word := range f.Defining {
		want, text := 1, word
		if word[0] == '-' {
			want, text = -1, word[1:]
		}
		for _, row := range f.Levels {
			product := 1
			for _, letter := range text {
				if row[slices.Index([]byte("ABCDEFGHJKLMNOP"), byte(letter))] == 0 {
					product = -product
				}
			}
			if product != want {
				t.Fatalf("%v: word %s does not hold in run %v", f.Generators, word, row)
			}
		}
	}
	for i := range f.Factors {
		for j := range i {
			both := 0
			for _, row := range f.Levels {
				both += row[i] * row[j]
			}
			if 4*both != len(f.Levels) {
				t.Fatalf("%v: factors %d and %d are not orthogonal", f.Generators, i, j)
			}
		}
	}
}

// TestGeneratorsAsPublished: fractions whose generators handbooks agree on, but for the order of
// the letters (Box, Hunter & Hunter, table 12.15, from memory).
func TestGeneratorsAsPublished(t *testing.T) {
	for _, c := range []struct {
		factors, runs int
		want          string
	}{
		{3, 4, "[C=AB]"},
		{4, 8, "[D=ABC]"},
		{5, 16, "[E=ABCD]"},
		{5, 8, "[D=AB E=AC]"},
		{6, 8, "[D=AB E=AC F=BC]"},
		{7, 8, "[D=AB E=AC F=BC G=ABC]"},
		{6, 32, "[F=ABCDE]"},
	} {
		f, err := screen.Regular(c.factors, c.runs)
		if err != nil {
			t.Errorf("%v: %v", c, err)
		} else if got := fmt.Sprint(f.Generators); got != c.want {
			t.Errorf("%d factors in %d runs: %s, want %s", c.factors, c.runs, got, c.want)
		}
	}
}

// TestAliases of the quarter fraction of five factors, I = ABD = ACE = BCDE: A = BD = CE, B = AD, C
// = AE, D = AB, E = AC, BC = DE, BE = CD.
func TestAliases(t *testing.T) {
	f, err := screen.Regular(5, 8)
	if err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(f.Defining); got != "[ABD ACE BCDE]" {
		t.Errorf("defining words %s, want [ABD ACE BCDE]", got)
	}
	want := "[[[0] [1 3] [2 4]] [[1] [0 3]] [[2] [0 4]] [[3] [0 1]] [[4] [0 2]] [[1 2] [3 4]] [[1 4] [2 3]]]"
	var got [][][]int
	for _, a := range f.Aliases(2) {
		got = append(got, a.Effects)
	}
	if fmt.Sprint(got) != want {
		t.Errorf("aliases\n %v\nwant\n %s", got, want)
	}
}

func TestFoldOver(t *testing.T) {
	f, err := screen.Regular(7, 8)
	if err != nil {
		t.Fatal(err)
	}
	// Folding all seven factors of the saturated design gives the fraction of 16 runs of resolution
	// IV with its seven words of length 4.
	g := f.FoldOver()
	if g.Resolution != 4 || g.Pattern[4] != 7 || len(g.Levels) != 16 {
		t.Errorf("full fold-over: resolution %d, pattern %v, %d runs", g.Resolution, g.Pattern, len(g.Levels))
	}
	checkFraction(t, g)
	// Folding A leaves the words without A, so that A and its interactions are free of other main
	// effects and two-factor interactions.
	g = f.FoldOver(0)
	checkFraction(t, g)
	for _, a := range g.Aliases(2) {
		if slices.ContainsFunc(a.Effects, func(e []int) bool { return slices.Contains(e, 0) }) && len(a.Effects) > 1 {
			for _, e := range a.Effects {
				if !slices.Contains(e, 0) {
					t.Errorf("folded on A, %v", a.Effects)
				}
			}
		}
	}
}

// TestPlackettBurman: the first rows as listed by Plackett & Burman 1946 (from memory), orthogonal
// columns, and the 12-run partial aliasing of ±1/3.
func TestPlackettBurman(t *testing.T) {
	for runs, want := range map[int]string{
		12: "++-+++---+-",
		20: "++--++++-+-+----++-",
		24: "+++++-+-++--++--+-+----",
	} {
		levels, err := screen.PlackettBurman(runs-1, runs)
		if err != nil {
			t.Fatal(err)
		}
		var first []byte
		for _, l := range levels[0] {
			first = append(first, "-+"[l])
		}
		if string(first) != want {
			t.Errorf("%d runs: first row %s, want %s", runs, first, want)
		}
		sign := func(row []int, f int) int { return 2*row[f] - 1 }
		for i := range runs - 1 {
			sum := 0
			for _, row := range levels {
				sum += sign(row, i)
			}
			if sum != 0 {
				t.Errorf("%d runs: factor %d has uneven levels", runs, i)
			}
			for j := range i {
				product := 0
				for _, row := range levels {
					product += sign(row, i) * sign(row, j)
				}
				if product != 0 {
					t.Errorf("%d runs: factors %d and %d are not orthogonal", runs, i, j)
				}
				for k := range j {
					triple := 0
					for _, row := range levels {
						triple += sign(row, i) * sign(row, j) * sign(row, k)
					}
					if runs == 12 && triple != 4 && triple != -4 {
						t.Errorf("12 runs: factors %d, %d, %d have product %d, want ±4", i, j, k, triple)
					}
				}
			}
		}
	}
}

func TestFractionsRefused(t *testing.T) {
	for _, c := range []struct {
		call func() error
		want string
	}{
		{func() error { _, err := screen.Regular(16, 32); return err }, "two-level fractions are for 2 to 15 factors; there are 16"},
		{func() error { _, err := screen.Regular(5, 12); return err }, "regular fractions have 4, 8, 16 or 32 runs, not 12"},
		{func() error { _, err := screen.Regular(8, 8); return err }, "8 factors need at least 16 runs of a regular fraction; you have 8"},
		{func() error { _, err := screen.Regular(3, 16); return err }, "all combinations of 3 factors are 8 runs; 16 are more than one of each"},
		{func() error { _, err := screen.SmallestRegular(9, 5); return err }, "no regular fraction of up to 32 runs has resolution V for 9 factors"},
		{func() error { _, err := screen.PlackettBurman(5, 16); return err }, "Plackett–Burman designs have 12, 20 or 24 runs, not 16"},
		{func() error { _, err := screen.PlackettBurman(12, 12); return err }, "a Plackett–Burman design of 12 runs is for 2 to 11 factors; there are 12"},
	} {
		err := c.call()
		if err == nil || err.Error() != c.want {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
}

func TestSmallestRegular(t *testing.T) {
	for _, c := range []struct{ factors, resolution, runs int }{{2, 5, 4}, {3, 3, 4}, {3, 4, 8}, {7, 3, 8}, {7, 4, 16}, {8, 4, 16}, {5, 5, 16}, {6, 5, 32}, {15, 3, 16}, {15, 4, 32}} {
		f, err := screen.SmallestRegular(c.factors, c.resolution)
		if err != nil {
			t.Errorf("%v: %v", c, err)
		} else if len(f.Levels) != c.runs {
			t.Errorf("%d factors at resolution %d: %d runs, want %d", c.factors, c.resolution, len(f.Levels), c.runs)
		}
	}
}

// Five factors in eight runs, and what that hides.
func ExampleRegular() {
	f, err := screen.Regular(5, 8)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Generators, "resolution", f.Resolution)
	names := []string{"weakening", "prop", "gearing", "fairing", "load"}
	for _, a := range f.Aliases(2)[:2] {
		fmt.Println(a.Words(names))
	}
	// Output:
	// [D=AB E=AC] resolution 3
	// the effect of weakening cannot be distinguished from the interaction of prop and fairing and the interaction of gearing and load
	// the effect of prop cannot be distinguished from the interaction of weakening and fairing
}

// Folding over frees main effects of two-factor interactions.
func ExampleFraction_FoldOver() {
	f, err := screen.Regular(5, 8)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Resolution, f.FoldOver().Resolution)
	// Output:
	// 3 4
}
