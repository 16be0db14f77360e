package order

import "math"

// scores returns the drift terms of a block over its positions x: row 0 the linear one, row
// 1 the quadratic one. Each row sums to zero and rows are orthogonal to each other, so they are the
// orthogonal polynomials of the positions, in integers:
//
//	linear     n·x(i) − Σx, without its common divisor
//	quadratic  for equally spaced positions 3y² − (n² − 1), y = 2i − (n − 1), without its
//	           common divisor; otherwise the orthogonal polynomial, rounded to
//	           integers of about 2²⁰/√n
//
// Rows are halved, rounding to the nearest integer, until the sum of squares is at most
// limit; only there, and at unequal spacing, are sum and orthogonality not exact.
func scores(x []int, degree int, limit float64) [][]int64 {
	n := int64(len(x))
	var sum int64
	for _, v := range x {
		sum += int64(v)
	}
	linear := make([]int64, n)
	for i, v := range x {
		linear[i] = n*int64(v) - sum
	}
	reduce(linear)
	rows := [][]int64{linear}
	if degree == 2 {
		rows = append(rows, quadratic(linear))
	}
	for _, row := range rows[:degree] {
		halve(row, limit)
	}
	return rows[:degree]
}

// quadratic returns the orthogonal polynomial of degree two over positions whose
// orthogonal polynomial of degree one is y.
func quadratic(y []int64) []int64 {
	n := int64(len(y))
	row := make([]int64, n)
	if equallySpaced(y) {
		for i := range row {
			z := 2*int64(i) - (n - 1)
			row[i] = 3*z*z - (n*n - 1)
		}
		reduce(row)
		return row
	}
	var y2, y3 float64
	for _, v := range y {
		f := float64(v)
		y2 += float64(f * f)
		y3 += float64(float64(f*f) * f)
	}
	slope, mean := y3/y2, y2/float64(n)
	p := make([]float64, n)
	var norm float64
	for i, v := range y {
		f := float64(v)
		p[i] = float64(f*f) - float64(slope*f) - mean
		norm += float64(p[i] * p[i])
	}
	if norm == 0 {
		return row
	}
	scale := (1 << 20) / math.Sqrt(norm)
	for i := range row {
		row[i] = int64(math.Round(float64(p[i] * scale)))
	}
	return row
}

func equallySpaced(y []int64) bool {
	for i := 2; i < len(y); i++ {
		if y[i]-y[i-1] != y[1]-y[0] {
			return false
		}
	}
	return true
}

// reduce divides x by the greatest common divisor of its elements.
func reduce(x []int64) {
	var d int64
	for _, v := range x {
		for a := v; a != 0; {
			d, a = a, d%a
		}
	}
	if d < 0 {
		d = -d
	}
	if d > 1 {
		for i := range x {
			x[i] /= d
		}
	}
}

// halve halves x until its sum of squares is at most limit.
func halve(x []int64, limit float64) {
	for float64(sumOfSquares(x)) > limit {
		for i := range x {
			x[i] = int64(math.Round(float64(x[i]) / 2))
		}
	}
}

func sumOfSquares(x []int64) float64 {
	var sum float64
	for _, v := range x {
		f := float64(v)
		sum += float64(f * f)
	}
	return sum
}
