// Package decimal keeps a column of decimal numbers exactly as they were
// written, so that a common offset can be taken away before any of them becomes
// a float64.
//
// Texts such as 1000000000000.4 go in; what comes out is an offset that a
// float64 holds exactly and the deviations from it, each correctly rounded. All
// digits that tell the rows apart survive, however many leading digits the rows
// share: a float64 has about 16 digits and spends 13 of them on the leading
// ones of that text. Differences, sums of squares and F statistics made from
// the deviations are then as good as if the instrument had read 0.4.
//
// A number of up to 18 digits is kept as mantissa and power of ten in ten bytes
// a row; a longer one as a [big.Int]. Reading, subtracting and rounding are
// linear in the number of rows.
//
// Read decimal.go first, then centre.go.
package decimal

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
)

var (
	// ErrSyntax reports a text that is not a decimal number: digits with at most
	// one point among them, perhaps a sign before and an exponent after. Names
	// of infinities and NaN, hexadecimal, digit separators, decimal commas and
	// blanks are not.
	ErrSyntax = errors.New("not a decimal number (digits, one decimal point at most, an exponent such as e-3)")

	// ErrRange reports a decimal number that no float64 can stand for: too large
	// for a finite one, or not zero but nearer to zero than the smallest.
	ErrRange = errors.New("a decimal number outside the range of a float64")

	// ErrLong reports a text of more than MaxText bytes.
	ErrLong = fmt.Errorf("longer than the %d bytes allowed for a number", MaxText)
)

// MaxText is the length in bytes of the longest text that Append takes.
const MaxText = 1024

// Exponents that mark what is not a mantissa of up to 18 digits. True exponents
// stay above -323-MaxText.
const (
	missing = math.MinInt16     // no number in this row
	long    = math.MinInt16 + 1 // the mantissa is an index into Column.long
)

// Column is a column of decimal numbers, some of which may be missing. The zero
// value is an empty column, ready to use. Rows count from zero.
type Column struct {
	mant []int64 // the number is mant·10^exp; mant ends in no zero digit
	exp  []int16
	long []bigDecimal
}

// bigDecimal is the number mant·10^exp.
type bigDecimal struct {
	mant *big.Int
	exp  int
}

// Append adds a row that holds the number written in text. Leading and trailing
// zeros, a plus sign, ".5" and "5." are allowed; the only decimal sign is the
// point. The error wraps ErrSyntax, ErrRange or ErrLong and quotes the text; the
// column is then unchanged.
func (c *Column) Append(text []byte) error {
	if len(text) > MaxText {
		return fmt.Errorf("%.40q…: %w", text, ErrLong)
	}
	p, ok := parse(text)
	if !ok {
		return fmt.Errorf("%q: %w", text, ErrSyntax)
	}
	if !p.inRange(text) {
		return fmt.Errorf("%.40q: %w", text, ErrRange)
	}
	if p.overflow {
		c.mant = append(c.mant, int64(len(c.long)))
		c.exp = append(c.exp, long)
		c.long = append(c.long, p.big(text))
		return nil
	}
	c.mant = append(c.mant, p.mant)
	c.exp = append(c.exp, int16(p.exp))
	return nil
}

// AppendMissing adds a row that holds no number.
func (c *Column) AppendMissing() {
	c.mant = append(c.mant, 0)
	c.exp = append(c.exp, missing)
}

// Len returns the number of rows, missing ones among them.
func (c *Column) Len() int { return len(c.mant) }

// Only returns a column in which the rows that keep says no to are missing; the
// others are as they were.
func (c *Column) Only(keep func(row int) bool) *Column {
	out := &Column{mant: c.mant, exp: slices.Clone(c.exp), long: c.long}
	for i := range out.exp {
		if !keep(i) {
			out.exp[i] = missing
		}
	}
	out.mant, out.long = slices.Clip(out.mant), slices.Clip(out.long)
	return out
}

// Floats returns the float64 nearest to each row's number, ties to even, and NaN
// where it is missing.
func (c *Column) Floats() []float64 {
	x := make([]float64, len(c.mant))
	for i, m := range c.mant {
		switch c.exp[i] {
		case missing:
			x[i] = math.NaN()
		case long:
			d := c.long[m]
			x[i] = roundBig(d.mant, d.exp)
		default:
			x[i] = round(m, int(c.exp[i]))
		}
	}
	return x
}

// powers holds the powers of ten that a float64 holds exactly.
var powers = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// round returns the float64 nearest to mant·10^exp, ties to even. When mantissa
// and power of ten are both exact, one multiplication or division rounds once
// (Clinger 1990, "How to read floating point numbers accurately").
func round(mant int64, exp int) float64 {
	if -1<<53 <= mant && mant <= 1<<53 {
		if 0 <= exp && exp < len(powers) {
			return float64(mant) * powers[exp]
		}
		if -len(powers) < exp && exp < 0 {
			return float64(mant) / powers[-exp]
		}
	}
	var buf [32]byte
	text := strconv.AppendInt(buf[:0], mant, 10)
	text = append(text, 'e')
	text = strconv.AppendInt(text, int64(exp), 10)
	return nearest(string(text))
}

// roundBig is round for a mantissa of any length.
func roundBig(mant *big.Int, exp int) float64 {
	x, _ := roundText(nil, mant, exp)
	return x
}

// roundText is roundBig by way of the number's text, which it appends to buf.
func roundText(buf []byte, mant *big.Int, exp int) (float64, []byte) {
	buf = mant.Append(buf, 10)
	buf = append(buf, 'e')
	buf = strconv.AppendInt(buf, int64(exp), 10)
	return nearest(string(buf)), buf
}

// nearest returns the float64 nearest to a decimal number. The text is always
// well formed, and the only error left, a number beyond the largest float64,
// comes with an infinity as its value.
func nearest(text string) float64 {
	x, _ := strconv.ParseFloat(text, 64)
	return x
}
