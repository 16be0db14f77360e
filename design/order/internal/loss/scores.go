package loss

import "math"

// scores returns the drift terms of a block of n positions: row 0 the linear one, row 1 the
// quadratic one, rows 2 and 3 the bends of a curve. They are the orthogonal polynomials of equally spaced points, in integers: with y
// = 2i − (n − 1),
//
//	linear     y
//	quadratic  3y² − (n² − 1)
//
// without their common divisors. Rows are halved, rounding to the nearest integer, until the sum of
// squares is at most limit; only there are they not exact.
func scores(n, degree int, limit float64) [][]int64 {
	rows := make([][]int64, degree)
	for k := range rows {
		if k >= 2 {
			rows[k] = bends(n)[k-2]
			halve(rows[k], limit)
			continue
		}
		rows[k] = make([]int64, n)
		for i := range rows[k] {
			y := int64(2*i - (n - 1))
			if k == 1 {
				y = 3*y*y - int64(n*n-1)
			}
			rows[k][i] = y
		}
		reduce(rows[k])
		halve(rows[k], limit)
	}
	return rows
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
	for sumOfSquares(x) > limit {
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
