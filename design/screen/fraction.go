package screen

import (
	"fmt"
	"math/bits"
	"slices"
	"strings"
)

// Fraction is a regular two-level fraction: runs that screen many factors, in which each effect is
// mixed with others, its aliases, that the defining words tell.
type Fraction struct {
	Factors int

	// Levels holds, for each run and factor, 0 for the low level and 1 for the high one. The runs
	// of the basic factors are in standard order, the first factor changing fastest.
	Levels [][]int

	// Generators holds the word of each factor that is not basic, "E=ABC": its level is the product
	// of those of the others, as signs; "E=-ABC" where it is the negative. Factors are lettered A,
	// B, … without I.
	Generators []string

	// Defining holds the words whose product of signs is the same in all runs, apart from the empty
	// one, shortest first; negative words have a minus sign. Resolution is the length of the
	// shortest, 0 for a full factorial.
	Defining   []string
	Resolution int

	// Pattern[i] is the number of words of length i (the word-length pattern), of length Factors + 1.
	Pattern []int

	words map[uint32]bool // defining words, true if the product is −1
}

// maxFractionFactors and maxFractionRuns bound the fractions that Regular searches.
const (
	maxFractionFactors = 15
	maxFractionRuns    = 32
)

// Regular returns the regular fraction of minimum aberration for so many factors, at most 15, in 4,
// 8, 16 or 32 runs: of those of the highest resolution the one with the fewest shortest words, then
// the fewest of the next length, and so on (Fries, A. & Hunter, W. G. 1980, Technometrics 22). It
// is found by search through all sets of generators. It returns an error if factors are
// more than runs − 1 or fewer than make a fraction or full factorial of so many runs.
func Regular(factors, runs int) (*Fraction, error) {
	basic := bits.TrailingZeros(uint(runs))
	switch {
	case factors < 2 || factors > maxFractionFactors:
		return nil, fmt.Errorf("two-level fractions are for 2 to %d factors; there are %d", maxFractionFactors, factors)
	case runs < 4 || runs > maxFractionRuns || runs != 1<<basic:
		return nil, fmt.Errorf("regular fractions have 4, 8, 16 or 32 runs, not %d", runs)
	case factors > runs-1:
		return nil, fmt.Errorf("%d factors need at least %d runs of a regular fraction; you have %d", factors, 1<<bits.Len(uint(factors)), runs)
	case factors < basic:
		return nil, fmt.Errorf("all combinations of %d factors are %d runs; %d are more than one of each", factors, 1<<factors, runs)
	}
	s := aberrationSearch{basic: basic, factors: factors}
	for s.least = factors + 1; !s.found; s.least-- {
		s.add([]uint32{0}, nil, 0)
	}
	return newFraction(factors, basic, s.best), nil
}

// SmallestRegular returns the regular fraction of minimum aberration with the fewest runs that has
// at least the given resolution: 3 keeps main effects apart from each other, 4 from two-factor
// interactions too, 5 these from each other.
func SmallestRegular(factors, resolution int) (*Fraction, error) {
	for runs := 4; runs <= maxFractionRuns; runs *= 2 {
		if factors > runs-1 || 1<<factors < runs {
			continue
		}
		f, err := Regular(factors, runs)
		if err != nil {
			return nil, err
		}
		if f.Resolution >= resolution || f.Resolution == 0 {
			return f, nil
		}
	}
	return nil, fmt.Errorf("no regular fraction of up to %d runs has resolution %s for %d factors", maxFractionRuns, Roman(resolution), factors)
}

// Roman returns a resolution as it is written: "IV" for 4.
func Roman(resolution int) string {
	numerals := [...]string{"0", "I", "II", "III", "IV", "V", "VI", "VII", "VIII"}
	if resolution < 0 || resolution >= len(numerals) {
		return fmt.Sprint(resolution)
	}
	return numerals[resolution]
}

// aberrationSearch goes through the sets of generators, given as sets of basic factors, that leave
// no word shorter than least.
type aberrationSearch struct {
	basic, factors, least int
	found                 bool
	best                  []uint32
	pattern               []int
}

// add extends the generators chosen; words is the group of defining words so far, as sets of factors.
func (s *aberrationSearch) add(words, generators []uint32, from uint32) {
	if len(generators) == s.factors-s.basic {
		pattern := make([]int, s.factors+1)
		for _, w := range words[1:] {
			pattern[bits.OnesCount32(w)]++
		}
		if !s.found || slices.Compare(pattern, s.pattern) < 0 {
			s.found, s.best, s.pattern = true, slices.Clone(generators), pattern
		}
		return
	}
	factor := uint32(1) << (s.basic + len(generators))
	for g := from + 1; g < 1<<s.basic; g++ {
		if bits.OnesCount32(g) < 2 {
			continue
		}
		more := slices.Clone(words)
		short := false
		for _, w := range words {
			w ^= g | factor
			short = short || bits.OnesCount32(w) < s.least
			more = append(more, w)
		}
		if !short {
			s.add(more, append(slices.Clone(generators), g), g)
		}
	}
}

func newFraction(factors, basic int, generators []uint32) *Fraction {
	f := &Fraction{Factors: factors, words: map[uint32]bool{}}
	group := []uint32{0}
	for i, g := range generators {
		f.Generators = append(f.Generators, letters(1<<(basic+i), false)+"="+letters(g, false))
		for _, w := range slices.Clone(group) {
			group = append(group, w^g^1<<(basic+i))
		}
	}
	for _, w := range group[1:] {
		f.words[w] = false
	}
	for run := range uint32(1) << basic {
		row := make([]int, factors)
		for i := range row {
			if i < basic {
				row[i] = int(run >> i & 1)
				continue
			}
			// The product of signs is + when an even number of them are −, that is low.
			g := generators[i-basic]
			low := bits.OnesCount32(g &^ run)
			row[i] = 1 - low%2
		}
		f.Levels = append(f.Levels, row)
	}
	f.describe()
	return f
}

// describe fills in what follows from words.
func (f *Fraction) describe() {
	f.Pattern = make([]int, f.Factors+1)
	f.Resolution = 0
	words := make([]uint32, 0, len(f.words))
	for w := range f.words {
		words = append(words, w)
		n := bits.OnesCount32(w)
		f.Pattern[n]++
		if f.Resolution == 0 || n < f.Resolution {
			f.Resolution = n
		}
	}
	slices.SortFunc(words, func(a, b uint32) int {
		if d := bits.OnesCount32(a) - bits.OnesCount32(b); d != 0 {
			return d
		}
		return strings.Compare(letters(a, false), letters(b, false))
	})
	f.Defining = nil
	for _, w := range words {
		f.Defining = append(f.Defining, letters(w, f.words[w]))
	}
}

// FoldOver returns the fraction together with its runs once more, in which the given factors (all,
// if none is given) have their levels exchanged. Words with an odd number of these factors vanish:
// with all, those of odd length, so that a fraction of resolution III becomes one of resolution IV;
// with one, its main effect and two-factor interactions come free.
func (f *Fraction) FoldOver(factors ...int) *Fraction {
	var folded uint32
	for _, i := range factors {
		if i < 0 || i >= f.Factors {
			panic("screen: FoldOver of a factor that the fraction lacks")
		}
		folded |= 1 << i
	}
	if len(factors) == 0 {
		folded = 1<<f.Factors - 1
	}
	g := &Fraction{Factors: f.Factors, words: map[uint32]bool{}}
	for _, row := range f.Levels {
		g.Levels = append(g.Levels, slices.Clone(row))
	}
	for _, row := range f.Levels {
		again := slices.Clone(row)
		for i := range again {
			if folded>>i&1 == 1 {
				again[i] = 1 - again[i]
			}
		}
		g.Levels = append(g.Levels, again)
	}
	for w, negative := range f.words {
		if bits.OnesCount32(w&folded)%2 == 0 {
			g.words[w] = negative
		}
	}
	g.describe()
	return g
}

// letters returns the word of a set of factors: A, B, … without I.
func letters(set uint32, negative bool) string {
	var b strings.Builder
	if negative {
		b.WriteByte('-')
	}
	for _, i := range members(set) {
		b.WriteByte("ABCDEFGHJKLMNOP"[i])
	}
	return b.String()
}
