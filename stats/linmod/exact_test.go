package linmod

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// exactFit returns the rank of a set of columns of whole numbers and the residual
// sum of squares of y on them, by Gram-Schmidt in rational arithmetic.
func exactFit(columns [][]int64, y []int64) (rank int, rss float64) {
	var basis [][]*big.Rat
	residual := func(x []int64) []*big.Rat {
		v := make([]*big.Rat, len(x))
		for i := range x {
			v[i] = new(big.Rat).SetInt64(x[i])
		}
		for _, q := range basis {
			f := new(big.Rat).Quo(inner(q, v), inner(q, q))
			for i := range v {
				v[i].Sub(v[i], new(big.Rat).Mul(f, q[i]))
			}
		}
		return v
	}
	for _, c := range columns {
		if v := residual(c); inner(v, v).Sign() > 0 {
			basis = append(basis, v)
		}
	}
	e := residual(y)
	rss, _ = inner(e, e).Float64()
	return len(basis), rss
}

// exactRank returns the rank of a set of columns of whole numbers.
func exactRank(columns [][]int64) int {
	rank, _ := exactFit(columns, make([]int64, len(columns[0])))
	return rank
}

func inner(x, y []*big.Rat) *big.Rat {
	s := new(big.Rat)
	for i := range x {
		s.Add(s, new(big.Rat).Mul(x[i], y[i]))
	}
	return s
}

// trial is a small random data set of whole numbers.
type trial struct {
	model Model
	y     []float64
	whole []int64 // y
}

// drawTrial draws up to 12 runs of up to two blocks, a covariate and two or three
// factors, with whatever empty cells, aliases and unused levels chance makes.
func drawTrial(t *rapid.T) trial {
	n := rapid.IntRange(1, 12).Draw(t, "n")
	factor := func(name string) Factor {
		levels := rapid.IntRange(1, 4).Draw(t, "levels of "+name)
		f := Factor{Name: name, Levels: make([]string, levels), Code: make([]int32, n)}
		for l := range f.Levels {
			f.Levels[l] = fmt.Sprint(name, l)
		}
		for i := range f.Code {
			f.Code[i] = int32(rapid.IntRange(0, levels-1).Draw(t, name))
		}
		return f
	}
	var tr trial
	for i := range rapid.IntRange(0, 2).Draw(t, "blocks") {
		tr.model.Blocks = append(tr.model.Blocks, factor(fmt.Sprint("block", i)))
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "factors") {
		tr.model.Factors = append(tr.model.Factors, factor(string(rune('A'+i))))
	}
	tr.model.Order = rapid.IntRange(1, 3).Draw(t, "order")
	if rapid.Bool().Draw(t, "covariate") {
		c := Covariate{Name: "position", Value: make([]float64, n)}
		for i := range c.Value {
			c.Value[i] = float64(rapid.IntRange(0, 9).Draw(t, "position"))
		}
		switch {
		case rapid.Bool().Draw(t, "slope in each level of A"):
			c.By = &tr.model.Factors[0]
		case len(tr.model.Blocks) > 0 && rapid.Bool().Draw(t, "slope in each block"):
			c.By = &tr.model.Blocks[0]
		case rapid.Bool().Draw(t, "slope in each level of a factor outside the model"):
			f := factor("outside")
			c.By = &f
		}
		tr.model.Covariates = []Covariate{c}
	}
	for range n {
		v := int64(rapid.IntRange(-20, 20).Draw(t, "y"))
		tr.whole = append(tr.whole, v)
		tr.y = append(tr.y, float64(v))
	}
	return tr
}

// part is a term of the model as columns of whole numbers, every level with an
// indicator of its own.
type part struct {
	name    string
	columns [][]int64
	factors []int     // of a treatment
	by      string    // of a covariate: the factor of its slopes
	common  [][]int64 // of a covariate: the one slope
}

// columnsOf returns the products of the indicators of the factors.
func columnsOf(n int, fs ...Factor) [][]int64 {
	columns := [][]int64{make([]int64, n)}
	for i := range n {
		columns[0][i] = 1
	}
	for _, f := range fs {
		var next [][]int64
		for _, c := range columns {
			for l := range f.Levels {
				x := make([]int64, n)
				for i := range x {
					if f.Code[i] == int32(l) {
						x[i] = c[i]
					}
				}
				next = append(next, x)
			}
		}
		columns = next
	}
	return columns
}

func (tr *trial) parts() []part {
	m, n := tr.model, len(tr.y)
	var ps []part
	for _, b := range m.Blocks {
		ps = append(ps, part{name: b.Name, columns: columnsOf(n, b)})
	}
	for _, c := range m.Covariates {
		p := part{name: c.Name, common: [][]int64{make([]int64, n)}}
		var sum int64
		for _, v := range c.Value {
			sum += int64(v)
		}
		for i, v := range c.Value {
			p.common[0][i] = int64(n)*int64(v) - sum // centred, and whole
		}
		p.columns = p.common
		if c.By != nil {
			p.by = c.By.Name
			p.columns = columnsOf(n, *c.By)
			for _, x := range p.columns {
				for i := range x {
					x[i] *= p.common[0][i]
				}
			}
		}
		ps = append(ps, p)
	}
	for k := 1; k <= m.Order && k <= len(m.Factors); k++ {
		for set := range subsets(len(m.Factors), k) {
			p := part{factors: set}
			var fs []Factor
			for i, f := range set {
				if i > 0 {
					p.name += " × "
				}
				p.name += m.Factors[f].Name
				fs = append(fs, m.Factors[f])
			}
			p.columns = columnsOf(n, fs...)
			ps = append(ps, p)
		}
	}
	return ps
}

// given returns what of q another term p is adjusted for.
func (p *part) given(q *part) [][]int64 {
	if q.by != "" && q.by == p.name {
		return q.common
	}
	if len(p.factors) > 0 && len(q.factors) > len(p.factors) {
		in := 0
		for _, f := range p.factors {
			for _, g := range q.factors {
				if f == g {
					in++
				}
			}
		}
		if in == len(p.factors) {
			return nil
		}
	}
	return q.columns
}

// TestExact compares rank and sums of squares with rational arithmetic.
func TestExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := drawTrial(t)
		r, err := Fit(tr.model, tr.y)
		if err != nil {
			t.Fatal(err)
		}
		one := columnsOf(len(tr.y))
		ps := tr.parts()
		all := one
		for i := range ps {
			all = append(all, ps[i].columns...)
		}
		_, tss := exactFit(one, tr.whole)
		const tol = 1e-12
		if !near(r.TSS, tss, 0, tol) {
			t.Fatalf("TSS = %v, want %v", r.TSS, tss)
		}
		rank, rss := exactFit(all, tr.whole)
		if r.Rank != rank || r.DF != len(tr.y)-rank || !near(r.RSS, rss, tss, tol) {
			t.Fatalf("Rank, DF, RSS = %d, %d, %v, want %d, %d, %v", r.Rank, r.DF, r.RSS, rank, len(tr.y)-rank, rss)
		}
		rows := r.ANOVA()
		for i := range ps {
			before := one
			for k := range ps {
				if k != i {
					before = append(before, ps[i].given(&ps[k])...)
				}
			}
			rank0, rss0 := exactFit(before, tr.whole)
			rank1, rss1 := exactFit(append(before, ps[i].columns...), tr.whole)
			if rows[i].Name != ps[i].name || rows[i].DF != rank1-rank0 || !near(rows[i].SS, rss0-rss1, tss, tol) {
				t.Fatalf("row %+v, want %s, DF %d, SS %v", rows[i], ps[i].name, rank1-rank0, rss0-rss1)
			}
		}
		var h float64
		for _, v := range r.Leverages() {
			h += v
		}
		if !near(h, float64(rank), 1, tol) {
			t.Fatalf("leverages add to %v, want the rank %d", h, rank)
		}
		var ss float64
		for _, e := range r.Residuals() {
			ss += e * e
		}
		if !near(ss, rss, max(tss, 1), tol) {
			t.Fatalf("squares of residuals add to %v, want %v", ss, rss)
		}
	})
}

// TestEstimable compares which means and differences are estimable, and their
// values, with rational arithmetic: a linear function of the parameters is
// estimable if it adds nothing to the rank of the design.
func TestEstimable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := drawTrial(t)
		tr.model.Covariates = nil // a mean of whole numbers need not be whole
		r, err := Fit(tr.model, tr.y)
		if err != nil {
			t.Fatal(err)
		}
		f := rapid.IntRange(0, len(tr.model.Factors)-1).Draw(t, "factor")
		m, err := r.Means(f)
		if err != nil {
			t.Fatal(err)
		}
		used, weights := tr.meanWeights(f)
		rank := exactRank(transpose(tr.rows()))
		estimable := func(l []int64) bool {
			return exactRank(transpose(append(tr.rows(), l))) == rank
		}
		all := m.All()
		for k := range m.N {
			want := used[k] && estimable(weights[k])
			if all.Estimable[k] != want || math.IsNaN(all.Value[k]) == want {
				t.Fatalf("mean %d: estimable %v, value %v; want estimable %v", k, all.Estimable[k], all.Value[k], want)
			}
			for l := range k {
				c := make([]float64, len(m.N))
				c[k], c[l] = 1, -1
				difference := make([]int64, len(weights[k]))
				for j := range difference {
					difference[j] = weights[k][j] - weights[l][j]
				}
				want := used[k] && used[l] && estimable(difference)
				if got := m.Contrasts([][]float64{c}).Estimable[0]; got != want {
					t.Fatalf("difference %d - %d: estimable %v, want %v", k, l, got, want)
				}
			}
		}
	})
}

// rows returns the design by rows, every level with an indicator of its own.
func (tr *trial) rows() [][]int64 {
	columns := columnsOf(len(tr.y))
	for _, p := range tr.parts() {
		columns = append(columns, p.columns...)
	}
	return transpose(columns)
}

func transpose(x [][]int64) [][]int64 {
	t := make([][]int64, len(x[0]))
	for i := range t {
		for j := range x {
			t[i] = append(t[i], x[j][i])
		}
	}
	return t
}

// meanWeights returns, for each level of factor f, whether it has a run, and its
// adjusted mean as weights over the columns of rows, times a whole number: the
// sum of the design rows of all combinations of the used levels of the other
// factors and blocks.
func (tr *trial) meanWeights(f int) (used []bool, weights [][]int64) {
	m := tr.model
	var fs []Factor
	fs = append(fs, m.Blocks...)
	fs = append(fs, m.Factors...)
	at := len(m.Blocks) + f
	used = make([]bool, len(fs[at].Levels))
	for _, c := range fs[at].Code {
		used[c] = true
	}
	for l := range used {
		combinations := [][]int32{nil}
		for i, f := range fs {
			seen := map[int32]bool{}
			for _, c := range f.Code {
				seen[c] = true
			}
			if i == at {
				seen = map[int32]bool{int32(l): true}
			}
			var next [][]int32
			for _, c := range combinations {
				for code := range seen {
					next = append(next, append(append([]int32(nil), c...), code))
				}
			}
			combinations = next
		}
		for i := range m.Blocks {
			if fine, holds := tr.finest(i); fine != i {
				combinations = slices.DeleteFunc(combinations, func(c []int32) bool { return holds[c[fine]] != c[i] })
			}
		}
		grid := trial{model: Model{Order: m.Order}, y: make([]float64, len(combinations))}
		for i, f := range fs {
			g := Factor{Name: f.Name, Levels: f.Levels}
			for _, c := range combinations {
				g.Code = append(g.Code, c[i])
			}
			if i < len(m.Blocks) {
				grid.model.Blocks = append(grid.model.Blocks, g)
			} else {
				grid.model.Factors = append(grid.model.Factors, g)
			}
		}
		var sum []int64
		for _, row := range grid.rows() {
			if sum == nil {
				sum = make([]int64, len(row))
			}
			for j, v := range row {
				sum[j] += v
			}
		}
		weights = append(weights, sum)
	}
	return used, weights
}

// finest returns the block with most levels that lies within block i, as packs lie
// within sessions, and for each of its levels the level of block i that holds it;
// i itself if there is none.
func (tr *trial) finest(i int) (fine int, holds map[int32]int32) {
	levels := func(b int) map[int32]int32 {
		of := map[int32]int32{}
		for row, code := range tr.model.Blocks[b].Code {
			own := tr.model.Blocks[i].Code[row]
			if was, seen := of[code]; seen && was != own {
				return nil
			}
			of[code] = own
		}
		return of
	}
	fine, holds = i, levels(i)
	for b := range tr.model.Blocks {
		if of := levels(b); len(of) > len(holds) {
			fine, holds = b, of
		}
	}
	return fine, holds
}
