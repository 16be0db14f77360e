package decimal

import (
	"math"
	"math/big"
)

// Centre returns an offset and the deviation of each row's number from it,
//
//	dev[i] = round(y[i] - offset),
//
// the difference taken exactly and rounded once to the nearest float64; NaN
// where the number is missing. The offset is a float64 without any rounding. It
// lies among the numbers, no further from any of them than the distance between
// the smallest and the largest, and depends on those two alone, so not on the
// order of the rows. It is 0 when the numbers share no leading digits worth
// taking away: when zero lies among them, or the smallest is under half the
// largest in magnitude.
func (c *Column) Centre() (offset float64, dev []float64) {
	dev = c.Floats()
	lo, hi := extent(dev)
	offset = between(lo, hi)
	if offset != 0 {
		c.subtract(dev, offset, max(hi-offset, offset-lo))
	}
	return offset, dev
}

// extent returns the smallest and the largest number that is not NaN; 0, 0 if
// there is none.
func extent(x []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range x {
		if v < lo {
			lo = v
		}
		if v > hi {
			hi = v
		}
	}
	if lo > hi {
		return 0, 0
	}
	return lo, hi
}

// between returns the offset for numbers that round to lo … hi: the middle, to
// the nearest multiple of the largest power of two up to half the width. So
// few bits have a short exact decimal expansion, which keeps the subtraction
// within 64 bits.
func between(lo, hi float64) float64 {
	width := hi - lo
	switch {
	case lo <= 0 && hi >= 0, width > max(-lo, hi)/2:
		return 0
	case width == 0:
		return lo
	}
	_, e := math.Frexp(width)
	grid := math.Ldexp(1, e-2)
	if grid == 0 {
		return lo
	}
	return math.RoundToEven((lo+width/2)/grid) * grid
}

// subtract fills dev with the correctly rounded differences from offset. spread
// is the largest of them in magnitude, to within the rounding of the numbers.
//
// With all numbers and the offset as whole multiples of 10^exp, the difference
// of two multiples that agree in their leading digits is computed modulo 2^64:
// the leading digits may well overflow, the difference is exact all the same
// because it is known to fit.
func (c *Column) subtract(dev []float64, offset, spread float64) {
	off := exactly(offset)
	exp := off.exp
	for _, e := range c.exp {
		if e > long {
			exp = min(exp, int(e))
		}
	}
	slack := math.Nextafter(math.Abs(offset), math.Inf(1)) - math.Abs(offset)
	fits := (spread+2*slack)*math.Pow(10, float64(-exp)) < 1<<62

	off64 := low64(off.mant) * power64(off.exp-exp)
	var y big.Int
	for i, m := range c.mant {
		e := int(c.exp[i])
		switch {
		case e == missing:
		case e == long:
			d := c.long[m]
			dev[i] = off.from(d.mant, d.exp)
		case fits:
			dev[i] = round(int64(uint64(m)*power64(e-exp)-off64), exp)
		default:
			dev[i] = off.from(y.SetInt64(m), e)
		}
	}
}

// from returns mant·10^exp - d, correctly rounded.
func (d bigDecimal) from(mant *big.Int, exp int) float64 {
	common := min(d.exp, exp)
	diff := new(big.Int).Mul(mant, power(exp-common))
	diff.Sub(diff, new(big.Int).Mul(d.mant, power(d.exp-common)))
	return roundBig(diff, common)
}

// exactly returns the decimal number that x is. Every finite float64 is one: a
// whole number of 2^-k, which is 5^k·10^-k.
func exactly(x float64) bigDecimal {
	frac, e := math.Frexp(x)
	mant := int64(frac * (1 << 53))
	e -= 53
	for e < 0 && mant&1 == 0 {
		mant /= 2
		e++
	}
	m := big.NewInt(mant)
	if e >= 0 {
		return bigDecimal{m.Lsh(m, uint(e)), 0}
	}
	five := new(big.Int).Exp(big.NewInt(5), big.NewInt(int64(-e)), nil)
	return bigDecimal{m.Mul(m, five), e}
}

// power returns 10^n for n ≥ 0.
func power(n int) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
}

// power64 returns 10^n modulo 2^64 for n ≥ 0.
func power64(n int) uint64 {
	if n >= 64 {
		return 0 // 2^64 divides it
	}
	p := uint64(1)
	for ; n > 0; n-- {
		p *= 10
	}
	return p
}

// low64 returns x modulo 2^64.
func low64(x *big.Int) uint64 {
	low := new(big.Int).And(x, new(big.Int).SetUint64(math.MaxUint64))
	return low.Uint64()
}
