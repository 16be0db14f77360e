package linmod

import (
	"errors"
	"fmt"

	"gonum.org/v1/gonum/floats"
)

// ErrTied reports levels too few or too much alike for a polynomial of the
// degree asked for.
var ErrTied = errors.New("not enough different levels for a trend of this degree")

// PolynomialContrasts returns the weights of the orthogonal polynomial contrasts
// of degree 1 (linear trend), 2 (quadratic) … degree over levels at the given
// values, which need not be evenly spaced. Row d-1 holds the values at the levels
// of the polynomial of degree d that is orthogonal to all of lower degree; its
// weights add to zero, their squares add to one, and it is positive at the largest
// value.
//
// The polynomials come from their three-term recurrence (Forsythe 1957, J. SIAM
// 5: 74-88), with each orthogonalised twice. The error wraps ErrTied when there
// are not more than degree different values.
//
// Panics if degree is negative.
func PolynomialContrasts(values []float64, degree int) ([][]float64, error) {
	if degree < 0 {
		panic(panicDegree)
	}
	n := len(values)
	lo, hi := 0.0, 0.0
	if n > 0 {
		lo, hi = floats.Min(values), floats.Max(values)
	}
	x := make([]float64, n)
	one := make([]float64, n)
	for i, v := range values {
		x[i] = (v - lo) - (hi-lo)/2
		one[i] = 1
	}
	if hi > lo {
		floats.Scale(2/(hi-lo), x)
	}
	basis := [][]float64{one}
	if n > 0 {
		floats.Scale(1/norm(one), one)
	}
	for d := 1; d <= degree; d++ {
		p := make([]float64, n)
		floats.MulTo(p, x, basis[d-1])
		length := norm(p)
		for range 2 {
			for _, q := range basis {
				addScaled(p, -dot(p, q), q)
			}
		}
		if n <= d || !(norm(p) > polynomialTolerance*length) {
			return nil, fmt.Errorf("degree %d over %d levels: %w", d, n, ErrTied)
		}
		floats.Scale(1/norm(p), p)
		basis = append(basis, p)
	}
	return basis[1:], nil
}

// polynomialTolerance is the part of a polynomial's length, beyond lower degrees,
// that rounding may leave of one that is not there.
const polynomialTolerance = 1e-10

const panicDegree = "linmod: negative degree"

// Trends returns the linear and the quadratic contrast over levels at the given values: the rows of
// [PolynomialContrasts] of degree 2. It is nil for fewer than three different values, whose only trend is their
// difference.
func Trends(values []float64) [][]float64 {
	if len(values) < 3 {
		return nil
	}
	rows, err := PolynomialContrasts(values, 2)
	if err != nil {
		return nil
	}
	return rows
}
