package order_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fairrun/design/lot"
	"fairrun/design/order"
)

// timesBySession counts the runs of each treatment in each session of m blocks.
func timesBySession(treatments, m int, blocks [][]int) [][]int {
	var times [][]int
	for b, block := range blocks {
		if b%m == 0 {
			times = append(times, make([]int, treatments))
		}
		for _, t := range block {
			times[b/m][t]++
		}
	}
	return times
}

// Every session holds each treatment as often as any other where the numbers allow, and otherwise within one of what is
// most even, in every order that a plan or its extensions may give, with drift of every kind.
func TestSessionsAreEven(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := order.Spec{
			Treatments: rapid.IntRange(3, 7).Draw(t, "treatments"),
			Blocks:     rapid.IntRange(5, 8).Draw(t, "blocks"),
			Runs:       rapid.IntRange(2, 5).Draw(t, "runs"),
			Session:    rapid.IntRange(2, 5).Draw(t, "session"),
			Drift:      rapid.SampledFrom([]order.DriftModel{order.None, order.Linear, order.Position}).Draw(t, "drift"),
		}
		d, err := order.Draw(p, rapid.Uint64().Draw(t, "seed"))
		var impossible *order.ImpossibleError
		if errors.As(err, &impossible) {
			t.Skip("too few blocks to join all treatments")
		}
		if err != nil {
			t.Fatal(err)
		}
		if rapid.Bool().Draw(t, "extend") {
			if d, err = order.Extend(d, rapid.IntRange(1, 4).Draw(t, "added"), 77); err != nil {
				t.Fatal(err)
			}
		}
		s, err := d.Set()
		if err != nil {
			t.Fatal(err)
		}
		m := s.Sampler(lot.New(3, 1<<32))
		blocks := make([][]int, len(d.Blocks))
		for b := range blocks {
			blocks[b] = slices.Clone(d.Blocks[b])
		}
		for range 4 {
			for i, times := range timesBySession(p.Treatments, p.Session, blocks) {
				runs := min(p.Session, len(blocks)-i*p.Session) * p.Runs
				least, most := runs/p.Treatments, runs/p.Treatments
				if runs%p.Treatments > 0 {
					least, most = least-1, most+2
				}
				if slices.Min(times) < least || slices.Max(times) > most {
					t.Fatalf("session %d holds treatments %v times", i+1, times)
				}
			}
			m.Fill(blocks)
		}
	})
}

// The blocks of a session stay together and sessions change places: a block of the design comes to every
// place of every session equally often. 20,000 draws; chi-squared with 7 degrees of freedom is below 29.9
// with probability 0.9999 (R: qchisq(0.9999, 7)).
func TestSessionsChangePlaces(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 4, Blocks: 8, Runs: 2, Session: 2, Drift: order.None,
		// Effects keep the names, so that a block can be distinguished from another.
		Effects: [][]float64{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}}}
	d := draw(t, p, 11)
	m := set(t, d).Sampler(lot.New(5, 1<<32))
	blocks := make([][]int, len(d.Blocks))
	for b := range blocks {
		blocks[b] = make([]int, p.Runs)
	}
	const draws = 20_000
	seen := map[string][]int{}
	for range draws {
		m.Fill(blocks)
		for b, block := range blocks {
			k := fmt.Sprint(slices.Sorted(slices.Values(block)))
			if seen[k] == nil {
				seen[k] = make([]int, len(blocks))
			}
			seen[k][b]++
			// The mate of a block in its session holds the other treatments.
			mate := blocks[b^1]
			if both := slices.Sorted(slices.Values(slices.Concat(block, mate))); !slices.Equal(both, []int{0, 1, 2, 3}) {
				t.Fatalf("a session holds %v and %v", block, mate)
			}
		}
	}
	once := 0
	for k, times := range seen {
		total := 0
		for _, n := range times {
			total += n
		}
		if total != draws {
			continue // more than one block of the design holds these treatments
		}
		once++
		chi, want := 0.0, float64(draws)/float64(len(blocks))
		for _, n := range times {
			chi += (float64(n) - want) * (float64(n) - want) / want
		}
		if chi > 29.9 {
			t.Errorf("the block of treatments %s stood %v times at the places, chi-squared %.1f", k, times, chi)
		}
	}
	if once == 0 {
		t.Error("no block of the design can be distinguished from the others")
	}
}

// TestResolvableOptimum goes through all designs of some sizes that put every treatment equally often into each session, or
// within one of what is most even where that cannot be.
func TestResolvableOptimum(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ treatments, runs, session, sessions int }{
		{4, 2, 2, 2}, {4, 2, 2, 3}, {4, 2, 2, 4},
		{6, 3, 2, 2}, {6, 3, 2, 3}, {6, 3, 2, 4}, {6, 3, 2, 5},
		{6, 2, 3, 2}, {6, 2, 3, 3}, {6, 2, 3, 4},
		{6, 4, 3, 1}, {6, 4, 3, 2}, {6, 4, 3, 3},
		{8, 4, 2, 2}, {8, 4, 2, 3},
		{5, 2, 2, 3}, {5, 3, 2, 2}, {5, 3, 2, 3}, {4, 3, 2, 2}, {4, 3, 3, 2},
	} {
		var one [][][]int // all sessions
		var blocks [][]int
		subsetsOf(c.treatments, c.runs, func(x []int) { blocks = append(blocks, slices.Clone(x)) })
		multisets(len(blocks), c.session, func(x []int) {
			var session [][]int
			for _, b := range x {
				session = append(session, blocks[b])
			}
			times := timesBySession(c.treatments, c.session, session)[0]
			least, more := c.session*c.runs/c.treatments, c.session*c.runs%c.treatments
			if more == 0 && slices.Max(times) == slices.Min(times) || more > 0 && slices.Min(times) >= least-1 && slices.Max(times) <= least+2 {
				one = append(one, session)
			}
		})
		best := 0.0
		multisets(len(one), c.sessions, func(x []int) {
			var design [][]int
			for _, s := range x {
				design = append(design, one[s]...)
			}
			best = max(best, averageEfficiency(c.treatments, design))
		})
		d := draw(t, order.Spec{Treatments: c.treatments, Blocks: c.session * c.sessions, Runs: c.runs, Session: c.session}, 1)
		if got := averageEfficiency(c.treatments, d.Blocks); math.Abs(got-best) > 1e-9 || math.Abs(d.BlockEfficiency-best) > 1e-9 {
			t.Errorf("%+v: efficiency %.6f, recorded %.6f; the best of all is %.6f", c, got, d.BlockEfficiency, best)
		}
		if d.BlockBound < best-1e-9 {
			t.Errorf("%+v: the bound %.6f is below what there is, %.6f", c, d.BlockBound, best)
		}
	}
}

// subsetsOf yields the subsets of k of n numbers.
func subsetsOf(n, k int, yield func([]int)) {
	var fill func(x []int, from int)
	fill = func(x []int, from int) {
		if len(x) == k {
			yield(x)
			return
		}
		for v := from; v < n; v++ {
			fill(append(x, v), v+1)
		}
	}
	fill(nil, 0)
}

// Resolvable designs of known efficiency: balanced ones λT/(rk); simple lattices (k + 1)/(k + 3) and
// triple ones 2(k + 1)/(2k + 5) (Yates, F. 1936, Journal of Agricultural Science 26), both from memory and
// equal to the bound of Patterson and Williams (1976); the 15 schoolgirls of Kirkman (1850), λ = 1 and r = 7.
func TestResolvableDesigns(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name                              string
		treatments, runs, session, blocks int
		want                              float64
	}{
		{"balanced lattice", 9, 3, 3, 12, 3.0 / 4},
		{"balanced lattice, two replicates a session", 9, 3, 6, 12, 3.0 / 4},
		{"balanced lattice", 16, 4, 4, 20, 4.0 / 5},
		{"simple lattice", 16, 4, 4, 8, 5.0 / 7},
		{"triple lattice", 16, 4, 4, 12, 10.0 / 13},
		{"simple lattice", 25, 5, 5, 10, 6.0 / 8},
		{"triple lattice", 25, 5, 5, 15, 12.0 / 15},
		{"schoolgirls", 15, 3, 5, 35, 5.0 / 7},
		{"all pairs", 6, 2, 3, 15, 3.0 / 5},
		{"all halves", 6, 3, 2, 20, 4.0 / 5},
		{"complements of pairs", 6, 4, 3, 15, 9.0 / 10},
	} {
		d := draw(t, order.Spec{Treatments: c.treatments, Blocks: c.blocks, Runs: c.runs, Session: c.session}, 1)
		if math.Abs(d.BlockEfficiency-c.want) > 1e-9 || math.Abs(d.BlockBound-c.want) > 1e-9 {
			t.Errorf("%s of %d treatments: efficiency %.6f, bound %.6f, want %.6f", c.name, c.treatments, d.BlockEfficiency, d.BlockBound, c.want)
		}
	}
}

func TestSessionsThatCannotBe(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan order.Spec
		want string
	}{
		{order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Session: 2}, "order: complete blocks are alike, in sessions or not"},
		{order.Spec{Treatments: 4, Blocks: 4, Runs: 3, Session: 1}, "order: a session of 1 block is none"},
		{order.Spec{Treatments: 4, Blocks: 4, Runs: 3, Session: -2}, "order: a session of -2 blocks is none"},
	} {
		_, err := order.Draw(c.plan, 1)
		var impossible *order.ImpossibleError
		if !errors.As(err, &impossible) || err.Error() != c.want {
			t.Errorf("%+v: %v, want %s", c.plan, err, c.want)
		} else if _, err := order.Draw(*impossible.Nearest, 1); err != nil {
			t.Errorf("%+v: the nearest plan %+v is impossible, too: %v", c.plan, impossible.Nearest, err)
		}
	}
}

// A record whose blocks were put into other sessions by hand is not one of the set.
func TestSessionsBrokenUp(t *testing.T) {
	t.Parallel()
	d := draw(t, order.Spec{Treatments: 9, Blocks: 9, Runs: 3, Session: 3}, 4)
	d.Blocks[0], d.Blocks[3] = d.Blocks[3], d.Blocks[0]
	if _, err := d.Set(); err == nil {
		t.Error("blocks exchanged between sessions are taken for the order that was drawn")
	}
}

// Whole plots in blocks that do not last, three to a day: with two settings of three treatments each, 4 runs
// in a block, every treatment is run twice a day, in every order that may be drawn.
func TestSessionsOfWholePlots(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 6, Blocks: 9, Runs: 4, Session: 3, WholePlots: []int{0, 0, 0, 1, 1, 1}, Drift: order.Linear}
	d := draw(t, p, 5)
	m := set(t, d).Sampler(lot.New(1, 1<<32))
	blocks := make([][]int, len(d.Blocks))
	for b := range blocks {
		blocks[b] = slices.Clone(d.Blocks[b])
	}
	for range 20 {
		if least, most := p.PerSession(blocks); least != 2 || most != 2 {
			t.Fatalf("a session holds a treatment %d to %d times, want 2: %v", least, most, blocks)
		}
		m.Fill(blocks)
	}
}

func TestPerSession(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 3, Blocks: 3, Runs: 2, Session: 2, Warmup: 1}
	// The warm-up run of each block does not count, nor does the session that is not whole.
	if least, most := p.PerSession([][]int{{2, 0, 1}, {2, 0, 2}, {0, 0, 0}}); least != 1 || most != 2 {
		t.Errorf("%d to %d runs of a treatment in a session, want 1 to 2", least, most)
	}
}
