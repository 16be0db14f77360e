package check

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"fairrun/stats/dist"
)

// Drift is the outcome of [LeftoverDrift].
type Drift struct {
	Result
	// Swing is how far the fitted left-over trend moves between its highest and
	// lowest point over the runs, in the response's unit.
	Swing float64
}

// inModel: of a trend that is this small, relative to what it was, once the
// model is taken out, nothing is left but rounding.
const inModel = 1e-9

// LeftoverDrift tests whether a straight (degree 1) or bent (degree 2) trend in
// run order explains anything that a fitted model has left over. It is the F test
// of adding the trend to the model, without fitting the larger model: with z the
// trend and z̃ what the model leaves of it,
//
//	SS = (z̃ᵀe)²/(z̃ᵀz̃),  F = SS / ((Σe² − SS)/(df−1))
//
// and alike for two columns together. DF1 is 1 or 2, DF2 is df − DF1. A straight
// trend that is already in the model drops out of degree 2, DF1 is then 1.
//
// residuals are those of the fit, with df degrees of freedom; order holds each
// row's place in time (run number, position in its block, or hours); basis holds
// an orthonormal basis of the model's columns, one row a residual, and nil stands
// for a model that has a mean only. Rows with NaN residuals are passed over.
//
// [ErrInModel] when the model holds all of the trend, [ErrNoDF] when df is less
// than DF1 + 1, [ErrExactFit] when all residuals are zero. When the trend explains
// all that was left, Statistic is +Inf or as large as rounding lets it be, and P 0
// or next to it. Panics when lengths differ or degree is not 1 or 2.
//
// Source: Frisch & Waugh 1933, Econometrica 1; Lovell 1963, JASA 58. Agrees with R's
// anova of the two fits to 1e-10 relative.
func LeftoverDrift(residuals, order []float64, df, degree int, basis mat.Matrix) (Drift, error) {
	if len(residuals) != len(order) {
		panic("check: LeftoverDrift needs one place in the order a residual")
	}
	if degree != 1 && degree != 2 {
		panic("check: LeftoverDrift knows degrees 1 and 2")
	}
	if basis != nil {
		if n, _ := basis.Dims(); n != len(residuals) {
			panic("check: LeftoverDrift needs one row of the basis a residual")
		}
	}
	var e, place []float64
	var rows []int
	for i, v := range residuals {
		if math.IsInf(v, 0) || math.IsInf(order[i], 0) {
			return Drift{}, ErrInfinite
		}
		if !math.IsNaN(v) {
			if math.IsNaN(order[i]) {
				panic("check: LeftoverDrift found a residual without a place in the order")
			}
			e, place, rows = append(e, v), append(place, order[i]), append(rows, i)
		}
	}
	if len(e) == 0 {
		return Drift{}, ErrTooFew
	}
	if floats.Norm(e, math.Inf(1)) == 0 {
		return Drift{}, ErrExactFit
	}
	trends := trendColumns(place, degree)
	if len(trends) == 0 {
		return Drift{}, fmt.Errorf("the order: %w", ErrConstant)
	}
	// Orthonormalise what the model leaves of the trends; carry the same steps over to
	// the trends themselves, whose combination has the shape that people see.
	var left, shape [][]float64
	for _, z := range trends {
		zl := remainder(z, rows, basis)
		norm := floats.Norm(zl, 2)
		for range 2 { // twice is enough to be orthogonal to rounding
			for j := range left {
				f := floats.Dot(left[j], zl)
				floats.AddScaled(zl, -f, left[j])
				floats.AddScaled(z, -f, shape[j])
			}
		}
		size := floats.Norm(zl, 2)
		if norm <= inModel || size <= inModel*norm { // z has length 1
			continue
		}
		floats.Scale(1/size, zl)
		floats.Scale(1/size, z)
		left, shape = append(left, zl), append(shape, z)
	}
	if len(left) == 0 {
		return Drift{}, ErrInModel
	}
	df1, df2 := float64(len(left)), float64(df-len(left))
	if df2 < 1 {
		return Drift{}, fmt.Errorf("%w: %d, the trend needs %d and one more", ErrNoDF, df, len(left))
	}
	fitted := make([]float64, len(e))
	rest := append([]float64(nil), e...)
	explained := 0.0
	for j := range left {
		b := floats.Dot(left[j], e)
		explained += b * b
		floats.AddScaled(fitted, b, shape[j])
		floats.AddScaled(rest, -b, left[j])
	}
	f := explained / df1 / (floats.Dot(rest, rest) / df2)
	d := Drift{Swing: floats.Max(fitted) - floats.Min(fitted)}
	d.Result = Result{Statistic: f, DF1: df1, DF2: df2, P: dist.F{D1: df1, D2: df2}.Survival(f)}
	return d, nil
}

// trendColumns returns the straight trend and, for degree 2, the bent one, free
// of mean, orthogonal to each other and of length 1. A column that does not vary
// is left out: a constant order, or a square of two places only.
func trendColumns(place []float64, degree int) [][]float64 {
	var columns [][]float64
	one := make([]float64, len(place))
	floats.AddConst(1/math.Sqrt(float64(len(place))), one)
	seen := [][]float64{one}
	z := append([]float64(nil), place...)
	floats.AddConst(-floats.Min(place)/2-floats.Max(place)/2, z)
	if largest := floats.Norm(z, math.Inf(1)); largest > 0 {
		floats.Scale(1/largest, z)
	}
	for d := 1; d <= degree; d++ {
		column := append([]float64(nil), z...)
		if d == 2 {
			floats.Mul(column, z)
		}
		norm := floats.Norm(column, 2)
		for range 2 {
			for _, s := range seen {
				floats.AddScaled(column, -floats.Dot(s, column), s)
			}
		}
		size := floats.Norm(column, 2)
		if size <= inModel*norm {
			continue
		}
		floats.Scale(1/size, column)
		columns = append(columns, column)
		seen = append(seen, append([]float64(nil), column...))
	}
	return columns
}

// remainder returns what the model leaves of column z, which has an entry for
// each of the rows that the fit kept.
func remainder(z []float64, rows []int, basis mat.Matrix) []float64 {
	left := append([]float64(nil), z...)
	if basis == nil {
		return left // z is free of mean already
	}
	_, k := basis.Dims()
	for range 2 { // twice is enough to be orthogonal to rounding
		inside := make([]float64, k)
		for j, i := range rows {
			for c := range inside {
				inside[c] += basis.At(i, c) * left[j]
			}
		}
		for j, i := range rows {
			for c, b := range inside {
				left[j] -= basis.At(i, c) * b
			}
		}
	}
	return left
}
