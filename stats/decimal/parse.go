package decimal

import (
	"math"
	"math/big"
)

// parsed is a text taken apart: the number is mant·10^exp.
type parsed struct {
	mant     int64
	exp      int
	digits   int  // digits from the first to the last that is not zero
	overflow bool // the digits do not fit mant: the number is p.big(text)
}

// maxExponent bounds the exponents that parse tells apart; those beyond are far
// outside the range of a float64 however many digits the text has.
const maxExponent = 10000

// parse reads sign, digits, point and exponent. It reports false for a text that
// is not a decimal number.
func parse(text []byte) (p parsed, ok bool) {
	i := 0
	negative := false
	if i < len(text) && (text[i] == '-' || text[i] == '+') {
		negative = text[i] == '-'
		i++
	}
	var (
		mant  uint64
		zeros int // zero digits since the last digit that is not zero
		seen  bool
		point bool
	)
	for ; i < len(text); i++ {
		b := text[i]
		if b == '.' && !point {
			point = true
			continue
		}
		if b < '0' || b > '9' {
			break
		}
		seen = true
		if point {
			p.exp--
		}
		if b == '0' {
			if p.digits > 0 {
				zeros++
			}
			continue
		}
		p.digits += zeros + 1
		if p.digits <= 18 {
			for ; zeros > 0; zeros-- {
				mant *= 10
			}
			mant = 10*mant + uint64(b-'0')
		}
		zeros = 0
	}
	if !seen {
		return parsed{}, false
	}
	p.exp += zeros
	if i < len(text) {
		e, ok := exponent(text[i:])
		if !ok {
			return parsed{}, false
		}
		p.exp += e
	}
	switch {
	case p.digits == 0:
		p.exp = 0
	case p.digits > 18:
		p.overflow = true
	case negative:
		p.mant = -int64(mant)
	default:
		p.mant = int64(mant)
	}
	return p, true
}

// exponent reads an exponent such as e-3 that ends the text; one beyond
// maxExponent is cut to it.
func exponent(text []byte) (e int, ok bool) {
	if text[0] != 'e' && text[0] != 'E' {
		return 0, false
	}
	text = text[1:]
	sign := 1
	if len(text) > 0 && (text[0] == '-' || text[0] == '+') {
		if text[0] == '-' {
			sign = -1
		}
		text = text[1:]
	}
	for _, b := range text {
		if b < '0' || b > '9' {
			return 0, false
		}
		e = min(10*e+int(b-'0'), maxExponent)
	}
	return sign * e, len(text) > 0
}

// inRange reports whether the number is zero or has a nearest float64 that is
// finite and not zero.
func (p parsed) inRange(text []byte) bool {
	leading := p.digits + p.exp // the number lies in [10^(leading-1), 10^leading)
	if p.digits == 0 || -300 < leading && leading < 300 {
		return true
	}
	x := nearest(string(text))
	return x != 0 && !math.IsInf(x, 0)
}

// big returns the number of a text that parse has taken apart, with all digits.
func (p parsed) big(text []byte) bigDecimal {
	digits := make([]byte, 0, len(text))
	for _, b := range text {
		if b == 'e' || b == 'E' {
			break
		}
		if b != '.' && b != '+' {
			digits = append(digits, b)
		}
	}
	for digits[len(digits)-1] == '0' {
		digits = digits[:len(digits)-1]
	}
	mant, _ := new(big.Int).SetString(string(digits), 10)
	return bigDecimal{mant, p.exp}
}
