// Package unit reads units as people write them: rpm, gf/W, kg·m², mAh, 1/min, %.
//
// In goes a text, out comes a [Unit]: its dimensions and what one of it is worth in SI base
// units. [Parse] reads it, [Unit.In] converts. Dimensions are those of gonum/unit.
//
// An angle has no dimension, so that rpm are π/30 rad/s and power is torque times speed.
// A temperature in °C is read as a difference: only K and °C exist, and neither is
// shifted into the other. Read unit.go first; symbols.go has what is known.
package unit

import (
	"fmt"
	"maps"
	"strings"

	gonum "gonum.org/v1/gonum/unit"
)

// A Unit is what a number counts. The zero value is no unit: a pure number.
type Unit struct {
	text       string
	size       float64 // in SI base units; 0 stands for 1
	dimensions gonum.Dimensions
}

// String returns the unit as it was written.
func (u Unit) String() string { return u.text }

// Size returns what one of the unit is worth in SI base units.
func (u Unit) Size() float64 {
	if u.size == 0 {
		return 1
	}
	return u.size
}

// Pure reports whether the unit has no dimension, as %, rad and no unit at all.
func (u Unit) Pure() bool { return len(u.dimensions) == 0 }

// Like reports whether two units measure the same.
func (u Unit) Like(v Unit) bool { return maps.Equal(u.dimensions, v.dimensions) }

// In returns what one of u is in v. The error says that they do not measure the same.
func (u Unit) In(v Unit) (float64, error) {
	if !u.Like(v) {
		return 0, fmt.Errorf("%s cannot be given in %s", u.named(), v.named())
	}
	return u.Size() / v.Size(), nil
}

// named returns the unit for a sentence.
func (u Unit) named() string {
	switch {
	case u.text != "":
		return u.text
	case u.Pure():
		return "a number without unit"
	}
	return u.Base()
}

// Base writes the dimensions in SI base units: "kg m s^-2"; "" where there are none.
func (u Unit) Base() string {
	if u.Pure() {
		return ""
	}
	return u.dimensions.String()
}

// Mul returns the unit of a product.
func (u Unit) Mul(v Unit) Unit { return u.times(v, 1) }

// Div returns the unit of a quotient.
func (u Unit) Div(v Unit) Unit { return u.times(v, -1) }

// SI returns the SI base unit that measures the same.
func (u Unit) SI() Unit { return Unit{dimensions: u.dimensions} }

// Power returns the unit of u to a whole power.
func (u Unit) Power(n int) Unit {
	p := Unit{}
	for range max(n, -n) {
		if n > 0 {
			p = p.Mul(u)
		} else {
			p = p.Div(u)
		}
	}
	return p
}

// Root returns the unit of the square root; ok is false where a dimension would not be whole.
func (u Unit) Root() (root Unit, ok bool) {
	root.dimensions = gonum.Dimensions{}
	for d, n := range u.dimensions {
		if n%2 != 0 {
			return Unit{}, false
		}
		root.dimensions[d] = n / 2
	}
	return root, true
}

// times returns u times v to the power of 1 or -1.
func (u Unit) times(v Unit, power int) Unit {
	p := Unit{size: u.Size() * v.Size(), dimensions: gonum.Dimensions{}}
	if power < 0 {
		p.size = u.Size() / v.Size()
	}
	maps.Copy(p.dimensions, u.dimensions)
	for d, n := range v.dimensions {
		if p.dimensions[d] += power * n; p.dimensions[d] == 0 {
			delete(p.dimensions, d)
		}
	}
	return p
}

// Parse reads a unit: symbols with whole powers (m², m^2, s-1), joined by "·", "*", a blank or
// "/". All that follows a "/" until the next "·" or blank is below the line. The empty text is
// no unit.
func Parse(text string) (Unit, error) {
	whole := Unit{}
	rest := strings.TrimSpace(text)
	below := false
	for rest != "" {
		end := strings.IndexAny(rest, "/·⋅* ")
		if end < 0 {
			end = len(rest)
		}
		factor, err := power(rest[:end])
		if err != nil {
			return Unit{}, fmt.Errorf("%q is no unit that is known", text)
		}
		if below {
			whole = whole.Div(factor)
		} else {
			whole = whole.Mul(factor)
		}
		rest = strings.TrimLeft(rest[end:], " ")
		joint, _, _ := strings.Cut(rest, " ")
		switch {
		case rest == "":
		case rest[0] == '/':
			below, rest = true, strings.TrimLeft(rest[1:], " ")
			if rest == "" {
				return Unit{}, fmt.Errorf("%q ends in a /", text)
			}
		case strings.HasPrefix(joint, "·"), strings.HasPrefix(joint, "⋅"), rest[0] == '*':
			below, rest = false, strings.TrimLeft(rest, "·⋅* ")
		default:
			below = false
		}
	}
	whole.text = strings.TrimSpace(text)
	return whole, nil
}

// Shifted reports whether one of two units is °C and the other counts from absolute zero, so that
// a temperature in one is not a multiple of that in the other. A difference is.
func Shifted(u, v Unit) bool {
	celsius := func(u Unit) bool { return u.text == "°C" || u.text == "degC" }
	return celsius(u) != celsius(v) && u.Like(v)
}

// Known reports whether a text is a unit.
func Known(text string) bool {
	_, err := Parse(text)
	return err == nil
}
