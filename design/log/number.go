package log

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// powersOfTen are those that a float64 holds exactly.
var powersOfTen = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// mostExact is the largest mantissa that a float64 holds with all whole numbers below it.
const mostExact = 1 << 53

// number reads a cell that holds a finite number, correctly rounded. mark is its decimal mark: '.', ',' or 0
// for none.
//
// A mantissa below 2^53 times or over a power of ten up to 10^22 is rounded once, in one
// operation on two exact numbers (Clinger 1990); all else is left to strconv.
func number(cell []byte) (x float64, mark byte, ok bool) {
	i, n := 0, len(cell)
	negative := false
	if n > 0 && (cell[0] == '-' || cell[0] == '+') {
		negative = cell[0] == '-'
		i = 1
	}
	var mantissa uint64
	digits, fraction := 0, 0
	for ; i < n; i++ {
		c := cell[i]
		if d := c - '0'; d <= 9 {
			if mantissa < mostExact {
				mantissa = 10*mantissa + uint64(d)
			}
			digits++
			if mark != 0 {
				fraction++
			}
			continue
		}
		if (c == '.' || c == ',') && mark == 0 {
			mark = c
			continue
		}
		break
	}
	if digits == 0 {
		return 0, 0, false
	}
	power := -fraction
	if i < n {
		if cell[i] != 'e' && cell[i] != 'E' {
			return 0, 0, false
		}
		exponent, err := strconv.Atoi(string(cell[i+1:]))
		if err != nil || exponent < -1000 || exponent > 1000 {
			return slowNumber(cell, mark)
		}
		power += exponent
	}
	if mantissa >= mostExact || power < -22 || power > 22 {
		return slowNumber(cell, mark)
	}
	x = float64(mantissa)
	if power < 0 {
		x /= powersOfTen[-power]
	} else {
		x *= powersOfTen[power]
	}
	if negative {
		x = -x
	}
	return x, mark, true
}

func slowNumber(cell []byte, mark byte) (float64, byte, bool) {
	text := string(cell)
	if mark == ',' {
		text = strings.Replace(text, ",", ".", 1)
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, 0, false
	}
	return x, mark, true
}

// absent reports whether a cell says that there is no value.
func absent(cell []byte) bool {
	if len(cell) == 0 {
		return true
	}
	if len(cell) > 4 || '0' <= cell[0] && cell[0] <= '9' {
		return false
	}
	switch strings.ToLower(string(cell)) {
	case "-", "--", "---", "na", "n/a", "nan", "null":
		return true
	}
	return false
}

// trim takes blanks, and quotes around all of it, off a cell.
func trim(cell []byte) []byte {
	if n := len(cell); n > 0 && cell[0] > ' ' && cell[n-1] > ' ' && cell[0] != '"' {
		return cell
	}
	cell = bytes.Trim(cell, " \t")
	if n := len(cell); n >= 2 && cell[0] == '"' && cell[n-1] == '"' {
		cell = bytes.Trim(cell[1:n-1], " \t")
	}
	return cell
}
