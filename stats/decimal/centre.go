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
// lies amid the numbers, no further from any of them than the distance between
// the smallest and the largest, and depends on those two alone, so not on the
// order of the rows. It is 0 when the numbers share no leading digits worth
// taking away: when zero lies among them, or the smallest is under half the
// largest in magnitude.
func (c *Column) Centre() (offset float64, dev []float64) {
	lo, hi := c.extent()
	offset = between(lo, hi)
	if offset == 0 {
		return 0, c.Floats()
	}
	return offset, c.subtract(offset, max(hi-offset, offset-lo))
}

// extent returns the smallest and the largest number to within two units in the
// last place; 0, 0 if there is none.
func (c *Column) extent() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, e := range c.exp {
		if e != missing {
			x := c.roughly(i)
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	if lo > hi {
		return 0, 0
	}
	return lo, hi
}

// roughly returns the number of row i, which is not missing, to within two units
// in the last place. It is faster than rounding correctly where a mantissa is
// longer than a float64's.
func (c *Column) roughly(i int) float64 {
	mant, exp := c.mant[i], int(c.exp[i])
	switch {
	case exp == long:
		d := c.long[mant]
		return roundBig(d.mant, d.exp)
	case 0 <= exp && exp < len(powers):
		return float64(mant) * powers[exp]
	case -len(powers) < exp && exp < 0:
		return float64(mant) / powers[-exp]
	}
	return round(mant, exp)
}

// between returns the offset for numbers between lo and hi, or nearly so: the middle, to
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

// subtract returns the correctly rounded differences from offset, NaN where the
// number is missing. spread is about the largest of them in magnitude.
//
// With all numbers and the offset as whole multiples of 10^exp, the difference
// of two multiples that agree in their leading digits is computed modulo 2^64:
// the leading digits may well overflow, the difference is exact all the same
// because it is known to fit.
func (c *Column) subtract(offset, spread float64) []float64 {
	sub := newSubtrahend(offset)
	exp := sub.offset.exp
	for _, e := range c.exp {
		if e > long {
			exp = min(exp, int(e))
		}
	}
	ulp := math.Nextafter(math.Abs(offset), math.Inf(1)) - math.Abs(offset)
	fits := (spread+8*ulp)*math.Pow(10, float64(-exp)) < 1<<62

	offset64 := low64(sub.offset.mant) * power64(sub.offset.exp-exp)
	dev := make([]float64, len(c.mant))
	var y big.Int
	for i, m := range c.mant {
		e := int(c.exp[i])
		switch {
		case e == missing:
			dev[i] = math.NaN()
		case e == long:
			dev[i] = sub.from(c.long[m].mant, c.long[m].exp)
		case fits:
			dev[i] = round(int64(uint64(m)*power64(e-exp)-offset64), exp)
		default:
			dev[i] = sub.from(y.SetInt64(m), e)
		}
	}
	return dev
}

// subtrahend is an offset to subtract from numbers of any length, with the memory
// that takes.
type subtrahend struct {
	offset bigDecimal
	scaled map[int]*big.Int // offset·10^-exp, by exp
	power  map[int]*big.Int // of ten
	diff   big.Int
	text   []byte
}

func newSubtrahend(offset float64) *subtrahend {
	return &subtrahend{offset: exactly(offset), scaled: map[int]*big.Int{}, power: map[int]*big.Int{}}
}

// from returns mant·10^exp - offset, correctly rounded.
func (s *subtrahend) from(mant *big.Int, exp int) float64 {
	common := min(s.offset.exp, exp)
	offset, ok := s.scaled[common]
	if !ok {
		offset = new(big.Int).Mul(s.offset.mant, s.ten(s.offset.exp-common))
		s.scaled[common] = offset
	}
	s.diff.Mul(mant, s.ten(exp-common))
	s.diff.Sub(&s.diff, offset)
	var x float64
	x, s.text = roundText(s.text[:0], &s.diff, common)
	return x
}

// ten returns 10^n for n ≥ 0.
func (s *subtrahend) ten(n int) *big.Int {
	p, ok := s.power[n]
	if !ok {
		p = new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
		s.power[n] = p
	}
	return p
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
