package unit

import (
	"errors"
	"math"
	"strconv"
	"strings"

	gonum "gonum.org/v1/gonum/unit"
)

// symbol is a unit that has a sign of its own.
type symbol struct {
	size       float64
	dimensions gonum.Dimensions
	prefixes   string // that may stand before it: "m" for milli, "k" for kilo, …
}

// standardGravity is that of the 3rd CGPM (1901), m/s²: 1 gf = 9.80665 mN.
const standardGravity = 9.80665

func dimensions(kg, m, s, a, k int) gonum.Dimensions {
	d := gonum.Dimensions{}
	for _, p := range []struct {
		dimension gonum.Dimension
		power     int
	}{{gonum.MassDim, kg}, {gonum.LengthDim, m}, {gonum.TimeDim, s}, {gonum.CurrentDim, a}, {gonum.TemperatureDim, k}} {
		if p.power != 0 {
			d[p.dimension] = p.power
		}
	}
	return d
}

var (
	pure        = dimensions(0, 0, 0, 0, 0)
	mass        = dimensions(1, 0, 0, 0, 0)
	length      = dimensions(0, 1, 0, 0, 0)
	duration    = dimensions(0, 0, 1, 0, 0)
	current     = dimensions(0, 0, 0, 1, 0)
	temperature = dimensions(0, 0, 0, 0, 1)
	rate        = dimensions(0, 0, -1, 0, 0)
	force       = dimensions(1, 1, -2, 0, 0)
	energy      = dimensions(1, 2, -2, 0, 0)
	power1      = dimensions(1, 2, -3, 0, 0)
	charge      = dimensions(0, 0, 1, 1, 0)
	voltage     = dimensions(1, 2, -3, -1, 0)
	resistance  = dimensions(1, 2, -3, -2, 0)
	pressure    = dimensions(1, -1, -2, 0, 0)
)

var symbols = map[string]symbol{
	"%": {0.01, pure, ""}, "‰": {0.001, pure, ""}, "1": {1, pure, ""}, "-": {1, pure, ""}, "ratio": {1, pure, ""},
	"rad": {1, pure, "m"}, "°": {math.Pi / 180, pure, ""}, "deg": {math.Pi / 180, pure, ""}, "rev": {2 * math.Pi, pure, ""},
	"s": {1, duration, "nµum"}, "sec": {1, duration, ""}, "min": {60, duration, ""}, "h": {3600, duration, ""},
	"Hz": {1, rate, "mkMG"}, "rpm": {math.Pi / 30, rate, "k"}, "RPM": {math.Pi / 30, rate, ""}, "erpm": {math.Pi / 30, rate, ""}, "eRPM": {math.Pi / 30, rate, ""},
	"g": {1e-3, mass, "mkµ"}, "t": {1e3, mass, ""}, "oz": {0.028349523125, mass, ""}, "lb": {0.45359237, mass, ""},
	"m": {1, length, "nµumck"}, "in": {0.0254, length, ""}, "ft": {0.3048, length, ""},
	"N": {1, force, "mkM"}, "gf": {1e-3 * standardGravity, force, "mk"}, "kp": {standardGravity, force, ""}, "lbf": {0.45359237 * standardGravity, force, ""}, "ozf": {0.028349523125 * standardGravity, force, ""},
	"Nm": {1, energy, "mkµ"}, "J": {1, energy, "mkM"}, "Wh": {3600, energy, "mkM"},
	"W": {1, power1, "mkM"}, "VA": {1, power1, "k"},
	"A": {1, current, "nµumk"}, "Ah": {3600, charge, "m"}, "C": {1, charge, "mµ"}, "V": {1, voltage, "nµumkM"},
	"Ω": {1, resistance, "mkMµ"}, "Ohm": {1, resistance, "mk"}, "ohm": {1, resistance, "mk"},
	"K": {1, temperature, "m"}, "°C": {1, temperature, ""}, "degC": {1, temperature, ""},
	"Pa": {1, pressure, "hkM"}, "bar": {1e5, pressure, "m"}, "psi": {6894.757293168361, pressure, ""},
	"T": {1, dimensions(1, 0, -2, -1, 0), "mµ"}, "L": {1e-3, dimensions(0, 3, 0, 0, 0), "m"}, "l": {1e-3, dimensions(0, 3, 0, 0, 0), "m"},
	"gn": {standardGravity, dimensions(0, 1, -2, 0, 0), ""},
}

var prefixes = map[string]float64{"n": 1e-9, "µ": 1e-6, "u": 1e-6, "m": 1e-3, "c": 1e-2, "h": 1e2, "k": 1e3, "M": 1e6, "G": 1e9}

var errUnknown = errors.New("unknown unit")

// raised are the digits of powers that stand above the line.
var raised = strings.NewReplacer("⁻", "-", "¹", "1", "²", "2", "³", "3", "⁴", "4")

// power reads one symbol with its power, if it has one.
func power(text string) (Unit, error) {
	text = strings.ReplaceAll(text, "μ", "µ") // the Greek letter for the sign
	if u, ok := lookup(text); ok {
		return u, nil
	}
	text = raised.Replace(text)
	end := strings.LastIndexFunc(text, func(r rune) bool { return r != '-' && (r < '0' || r > '9') }) + 1
	for end < len(text) && text[end]&0xC0 == 0x80 { // within the last letter
		end++
	}
	n, err := strconv.Atoi(text[end:])
	if err != nil || n == 0 || n < -4 || n > 4 {
		return Unit{}, errUnknown
	}
	u, ok := lookup(strings.TrimSuffix(text[:end], "^"))
	if !ok {
		return Unit{}, errUnknown
	}
	return u.Power(n), nil
}

// lookup finds a symbol, with or without a prefix.
func lookup(text string) (Unit, bool) {
	if s, ok := symbols[text]; ok {
		return Unit{size: s.size, dimensions: s.dimensions}, true
	}
	for p, size := range prefixes {
		s, ok := symbols[strings.TrimPrefix(text, p)]
		if ok && strings.HasPrefix(text, p) && strings.Contains(s.prefixes, p) {
			return Unit{size: size * s.size, dimensions: s.dimensions}, true
		}
	}
	return Unit{}, false
}
