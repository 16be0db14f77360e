package loss

import "math/big"

// CurveDegree is the number of drift terms of a curve: the parabola and two more that let it bend otherwise in the first and in
// the last third of a block.
const CurveDegree = 4

// bends returns the third and the fourth drift term of a curve over n positions: the quadratic spline with knots at one and two
// thirds between the first and the last position, less its parabola. With Y = 3(2i − (n − 1)), K = n − 1 and
// g(Y) = max(0, Y − K)², they are the parts of
//
//	g(Y) − g(−Y)  and  g(Y) + g(−Y)
//
// that are orthogonal to the line, and to the constant and the parabola. They are exact, in integers without a common divisor,
// rounded only where they would pass 2³⁰. With four positions the fourth is zero, with three both.
func bends(n int) [2][]int64 {
	odd, even := make([]*big.Int, n), make([]*big.Int, n)
	line, bow := make([]*big.Int, n), make([]*big.Int, n)
	one := make([]*big.Int, n)
	for i := range n {
		y := int64(2*i - (n - 1))
		g := func(at int64) int64 {
			at = max(0, at-int64(n-1))
			return at * at
		}
		odd[i], even[i] = big.NewInt(g(3*y)-g(-3*y)), big.NewInt(g(3*y)+g(-3*y))
		line[i], bow[i], one[i] = big.NewInt(y), big.NewInt(3*y*y-int64(n*n-1)), big.NewInt(1)
	}
	takeOut(odd, line)
	takeOut(even, one)
	takeOut(even, bow)
	return [2][]int64{small(odd), small(even)}
}

// takeOut makes x orthogonal to u, up to a factor: x u'u − u u'x.
func takeOut(x, u []*big.Int) {
	uu, ux := new(big.Int), new(big.Int)
	for i := range x {
		uu.Add(uu, new(big.Int).Mul(u[i], u[i]))
		ux.Add(ux, new(big.Int).Mul(u[i], x[i]))
	}
	if uu.Sign() == 0 {
		return
	}
	for i := range x {
		x[i] = new(big.Int).Sub(new(big.Int).Mul(x[i], uu), new(big.Int).Mul(u[i], ux))
	}
}

// small divides x by its greatest common divisor and, where that is not enough, by a power of two, so that it stays under 2³⁰.
func small(x []*big.Int) []int64 {
	const bits = 30
	d, most := new(big.Int), 0
	for _, v := range x {
		d.GCD(nil, nil, d, new(big.Int).Abs(v))
	}
	out := make([]int64, len(x))
	if d.Sign() == 0 {
		return out
	}
	for _, v := range x {
		v.Quo(v, d)
		most = max(most, v.BitLen())
	}
	shift := uint(max(0, most-bits))
	half := new(big.Int)
	if shift > 0 {
		half.Lsh(big.NewInt(1), shift-1)
	}
	for i, v := range x {
		rounded := new(big.Int).Add(new(big.Int).Abs(v), half)
		rounded.Rsh(rounded, shift)
		if out[i] = rounded.Int64(); v.Sign() < 0 {
			out[i] = -out[i]
		}
	}
	return out
}
