// Package linmod fits fixed-effects linear models by least squares: additive
// blocks, covariates with one slope or with a slope in each level of a factor,
// and treatment factors with their interactions.
//
// A [Model] and a response go into [Fit]; the [Result] answers for the analysis
// of variance, adjusted means and contrasts among them, residuals and leverages.
// What the data cannot support is said, not hidden in a NaN: a term that others
// already explain keeps its row with zero degrees of freedom, and every estimate
// carries whether it is estimable.
//
// # Method
//
// Rows that agree in every factor form a cell. On a cell the categorical part of
// the design is constant, so the least-squares problem splits exactly into the
// cell means, weighted by the square roots of their counts, and the deviations
// from them, which a small triangular factor sums up (Chan, Golub & LeVeque
// 1983, The American Statistician 37: 242-247, for updating by means and
// deviations). The block factor with most levels, or else the constant, is
// swept out of the cells the same way. Householder reflections reduce what is
// left (Golub & Van Loan, Matrix Computations, 5.2), setting aside each column
// that depends on those before it, to a relative tolerance of 1e-7. No cross
// products are formed. The work is linear in the rows; the memory beyond a
// few indexes a row is that of the cells.
//
// The analysis of variance is of Type II: each term adjusted for all terms that
// do not contain it (Nelder 1977, J. R. Statist. Soc. A 140: 48-77, marginality).
//
// # Accuracy
//
// Give the response as deviations from an offset that was subtracted exactly, as
// package decimal makes them, and the F statistics of the eleven one-way sets of
// NIST's Statistical Reference Datasets come out right to 13 digits or more.
//
// In this package n is a number of rows, df are degrees of freedom, ss is a sum
// of squares.
//
// Read model.go first, then fit.go.
package linmod

import (
	"errors"
	"fmt"
	"math"
)

var (
	// ErrNoRows reports that no row has a response, every factor and every
	// covariate.
	ErrNoRows = errors.New("no row has a response and every factor and covariate of the model")

	// ErrInfinite reports a response or a covariate that is infinite, or so large
	// that its squares, or its range, are.
	ErrInfinite = errors.New("a value too large to compute with")

	// ErrTooLarge reports a model with so many columns, or means of so many
	// combinations, that computing them would take all memory or minutes: factors
	// with as many levels as there are rows, as a rule. A block may have as many.
	ErrTooLarge = errors.New("too many levels to compute with")
)

const (
	maxEntries = 20_000_000 // numbers in any one matrix: 160 MB
	maxWork    = 2e10       // multiplications to reduce one: a few seconds
)

// Factor is a column of categories.
type Factor struct {
	Name   string
	Levels []string // in the order that tables show them; some may have no row
	Code   []int32  // of each row: an index into Levels, or -1 where it is missing
}

// Covariate is a numeric column with a straight-line effect, or one line for each
// level of a factor. That factor belongs among the blocks or factors of the
// model, or is coarser than one of them; lines of a factor that the model does
// not know otherwise all meet at the mean of the covariate.
type Covariate struct {
	Name  string
	Term  string    // covariates in a row that have the same are one term, of this name: the pieces of a curve, say; "": a term of its own
	Value []float64 // of each row; NaN where it is missing
	By    *Factor   // each level has a slope of its own; nil: one slope for all
}

// Model says what a response depends on.
type Model struct {
	Blocks     []Factor // additive, and never part of an interaction
	Covariates []Covariate
	Factors    []Factor // the treatments
	Order      int      // interactions of up to so many factors; 1 (or 0): main effects only
}

const (
	panicLength = "linmod: column and response differ in length"
	panicCode   = "linmod: code outside the levels of its factor"
)

// check panics unless every column has n rows and every code is a level.
func (m Model) check(n int) {
	factor := func(f *Factor) {
		if len(f.Code) != n {
			panic(panicLength)
		}
		for _, c := range f.Code {
			if c < -1 || int(c) >= len(f.Levels) {
				panic(panicCode)
			}
		}
	}
	for i := range m.Blocks {
		factor(&m.Blocks[i])
	}
	for i := range m.Factors {
		factor(&m.Factors[i])
	}
	for _, c := range m.Covariates {
		if len(c.Value) != n {
			panic(panicLength)
		}
		if c.By != nil {
			factor(c.By)
		}
	}
}

// complete returns the indexes of the rows that have a response, every factor
// and every covariate.
func (m Model) complete(y []float64) (rows []int32, err error) {
	left := make([]bool, len(y))
	for i, v := range y {
		if math.IsInf(v, 0) {
			return nil, fmt.Errorf("response, row %d: %w", i, ErrInfinite)
		}
		left[i] = math.IsNaN(v)
	}
	for _, c := range m.Covariates {
		for i, v := range c.Value {
			if math.IsInf(v, 0) {
				return nil, fmt.Errorf("covariate %q, row %d: %w", c.Name, i, ErrInfinite)
			}
			left[i] = left[i] || math.IsNaN(v)
		}
	}
	for _, f := range m.categorical() {
		for i, c := range f.Code {
			left[i] = left[i] || c < 0
		}
	}
	rows = make([]int32, 0, len(y))
	for i, l := range left {
		if !l {
			rows = append(rows, int32(i))
		}
	}
	if len(rows) == 0 {
		return nil, ErrNoRows
	}
	return rows, nil
}

// categorical lists every factor that rows of a cell must share, those that
// covariates have slopes by first.
func (m Model) categorical() []*Factor {
	var fs []*Factor
	for _, c := range m.Covariates {
		if c.By != nil {
			fs = append(fs, c.By)
		}
	}
	for i := range m.Blocks {
		fs = append(fs, &m.Blocks[i])
	}
	for i := range m.Factors {
		fs = append(fs, &m.Factors[i])
	}
	return fs
}

// same reports whether two factors are one column.
func same(a, b *Factor) bool {
	return a == b || a != nil && b != nil && a.Name == b.Name &&
		len(a.Code) == len(b.Code) && (len(a.Code) == 0 || &a.Code[0] == &b.Code[0])
}
