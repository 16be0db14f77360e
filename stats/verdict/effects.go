package verdict

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/linmod"
)

// effects says what the model lets the treatments of a draw do.
type effects struct {
	factors []linmod.Factor
	code    [][]int // level of each factor, by treatment; nil for one that no row has

	// columns holds a row for each treatment: indicators of the levels of every set
	// of factors whose interaction is in the model. nil when each treatment has an
	// effect of its own.
	columns [][]float64
	first   []int // of each factor, where the model is of main effects: the column of its first level
}

// newEffects are those of a model with interactions of so many factors.
func newEffects(d *Draw, factors []linmod.Factor, order int) *effects {
	e := &effects{factors: factors, code: make([][]int, d.Treatments)}
	for row, t := range d.Drawn {
		if e.code[t] != nil {
			continue
		}
		for _, f := range factors {
			e.code[t] = append(e.code[t], int(f.Code[row]))
		}
	}
	if order := max(1, order); order < len(factors) {
		e.columns = make([][]float64, d.Treatments)
		for t := range e.columns {
			e.columns[t] = e.indicators(e.code[t], order)
		}
		at := 0
		for _, f := range factors {
			e.first = append(e.first, at)
			at += len(f.Levels)
		}
	}
	return e
}

// indicators is the row of a treatment: main effects first, then the
// interactions of every set of up to order factors. A treatment that no row has
// has a row of zeros.
func (e *effects) indicators(code []int, order int) []float64 {
	var row []float64
	factors := e.factors
	for size := 1; size <= order; size++ {
		for set := range uint(1) << len(factors) {
			var members []int
			for f := range factors {
				if set>>f&1 == 1 {
					members = append(members, f)
				}
			}
			if len(members) != size {
				continue
			}
			cells, at := 1, 0
			for _, f := range members {
				cells *= len(factors[f].Levels)
				if code != nil {
					at = at*len(factors[f].Levels) + code[f]
				}
			}
			block := make([]float64, cells)
			if code != nil {
				block[at] = 1
			}
			row = append(row, block...)
		}
	}
	return row
}

// contrast returns the weights over the treatments of "mean i less mean j" of a
// family; nil when the treatments that were run do not hold it.
//
// Combinations of all factors are treatments. The levels of one factor, of a
// model of main effects, are compared by the least weights w (in sum of squares)
// that give the difference of the two levels' effects and no other: w'E is 1 in
// the column of level i, −1 in that of j and 0 elsewhere, E being the columns. In
// a full factorial that is the mean of all treatments with one level less that
// of those with the other.
func (e *effects) contrast(f family, i, j int) []float64 {
	w := make([]float64, len(e.code))
	if len(f.factors) == len(e.factors) {
		plus, minus := e.treatment(f.means.levels[i]), e.treatment(f.means.levels[j])
		if plus < 0 || minus < 0 {
			return nil
		}
		w[plus], w[minus] = 1, -1
		return w
	}
	rows, cols := len(e.columns), len(e.columns[0])
	transposed := mat.NewDense(cols, rows, nil)
	for t, row := range e.columns {
		transposed.SetCol(t, row)
	}
	target := mat.NewVecDense(cols, nil)
	at := e.first[f.factors[0]]
	target.SetVec(at+f.means.levels[i][0], 1)
	target.SetVec(at+f.means.levels[j][0], -1)
	var svd mat.SVD
	if !svd.Factorize(transposed, mat.SVDThin) {
		return nil
	}
	rank := svd.Rank(1e-9)
	if rank == 0 {
		return nil
	}
	var least, back mat.VecDense
	svd.SolveVecTo(&least, target, rank)
	back.MulVec(transposed, &least)
	for k := range cols {
		if math.Abs(back.AtVec(k)-target.AtVec(k)) > 1e-9 {
			return nil
		}
	}
	copy(w, least.RawVector().Data)
	return w
}

// treatment is the treatment with the given levels, −1 if no row has it.
func (e *effects) treatment(levels []int) int {
	for t, code := range e.code {
		same := code != nil
		for k := range code {
			same = same && code[k] == levels[k]
		}
		if same {
			return t
		}
	}
	return -1
}
