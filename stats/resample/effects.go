package resample

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/linmod"
)

// Effects says what a model lets the treatments of a draw do.
type Effects struct {
	factors []linmod.Factor
	code    [][]int // level of each factor, by treatment; nil for one that no row has

	// Columns holds a row for each treatment: indicators of the levels of every set
	// of factors whose interaction is in the model. nil when each treatment has an
	// effect of its own.
	Columns [][]float64
	order   int // of the interactions in the model
}

// NewEffects are those of so many treatments, of which drawn has that of each row, in a model with interactions of up to
// order factors.
func NewEffects(treatments int, drawn []int32, factors []linmod.Factor, order int) *Effects {
	e := &Effects{factors: factors, order: max(1, order), code: make([][]int, treatments)}
	for row, t := range drawn {
		if e.code[t] != nil {
			continue
		}
		for _, f := range factors {
			e.code[t] = append(e.code[t], int(f.Code[row]))
		}
	}
	if e.order < len(factors) {
		e.Columns = make([][]float64, treatments)
		for t := range e.Columns {
			e.Columns[t] = e.indicators(e.code[t], e.order)
		}
	}
	return e
}

// indicators is the row of a treatment: main effects first, then the
// interactions of every set of up to order factors. A treatment that no row has
// has a row of zeros.
func (e *Effects) indicators(code []int, order int) []float64 {
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

// Contrast returns the weights over the treatments of the mean at the levels plus of some factors less that at minus,
// averaged over the others; nil when the treatments that were run do not hold it.
//
// Combinations of all factors are treatments. The levels of one factor are
// compared by the least weights w (in sum of squares) that give the difference of
// the two levels, averaged over all combinations of the other factors, whatever the
// effects: w'E is the average of the columns' rows with level i less that with j,
// E being the columns. In a full factorial that is the mean of all treatments with
// one level less that of those with the other.
func (e *Effects) Contrast(factors, plus, minus []int) []float64 {
	w := make([]float64, len(e.code))
	if len(factors) == len(e.factors) {
		p, m := e.treatment(plus), e.treatment(minus)
		if p < 0 || m < 0 {
			return nil
		}
		w[p], w[m] = 1, -1
		return w
	}
	if e.Columns == nil {
		return e.averages(factors[0], plus[0], minus[0])
	}
	rows, cols := len(e.Columns), len(e.Columns[0])
	transposed := mat.NewDense(cols, rows, nil)
	for t, row := range e.Columns {
		transposed.SetCol(t, row)
	}
	target := mat.NewVecDense(cols, e.difference(factors[0], plus[0], minus[0]))
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

// difference is the row of level i of a factor less that of level j, averaged over the other factors, whose
// main effects cancel.
func (e *Effects) difference(factor, i, j int) []float64 {
	out := make([]float64, len(e.indicators(nil, e.order)))
	code := make([]int, len(e.factors))
	cells := 1
	if e.order > 1 {
		cells = e.cells(factor)
	}
	for cell := range cells {
		rest := cell
		for k, f := range e.factors {
			if k != factor {
				code[k] = rest % len(f.Levels)
				rest /= len(f.Levels)
			}
		}
		code[factor] = i
		plus := e.indicators(code, e.order)
		code[factor] = j
		minus := e.indicators(code, e.order)
		for c := range out {
			out[c] += (plus[c] - minus[c]) / float64(cells)
		}
	}
	return out
}

// averages weighs the treatments with level i of a factor equally against those with level j; nil where
// some combination is not run.
func (e *Effects) averages(factor, i, j int) []float64 {
	w := make([]float64, len(e.code))
	of := map[int]float64{i: 1, j: -1}
	cells := e.cells(factor)
	found := 0
	for t, code := range e.code {
		if code == nil {
			continue
		}
		if sign, known := of[code[factor]]; known {
			w[t] = sign / float64(cells)
			found++
		}
	}
	if found != 2*cells {
		return nil
	}
	return w
}

// cells counts the combinations of the levels of all factors but one.
func (e *Effects) cells(factor int) int {
	n := 1
	for k, f := range e.factors {
		if k != factor {
			n *= len(f.Levels)
		}
	}
	return n
}

// treatment is the treatment with the given levels, −1 if no row has it.
func (e *Effects) treatment(levels []int) int {
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
