package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
)

// A quantity is written as a text with its unit, "5 Ah" or "1 min 30 s", so that nobody has to
// remember which unit a bare number would be read in.

// splitQuantity splits "5.2 Ah" into 5.2 and "Ah". ok is false when the text is no number that is
// positive and finite followed by a unit of letters.
func splitQuantity(text string) (x float64, unit string, ok bool) {
	i := strings.IndexFunc(text, unicode.IsLetter)
	if i <= 0 {
		return 0, "", false
	}
	digits, unit := strings.TrimRightFunc(text[:i], unicode.IsSpace), text[i:]
	if !plainDecimal(digits) {
		return 0, "", false
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil || math.IsInf(x, 0) || x <= 0 {
		return 0, "", false
	}
	return x, unit, true
}

// plainDecimal reports whether the text is digits with at most one point between them.
func plainDecimal(text string) bool {
	if text == "" || text[0] == '.' || strings.HasSuffix(text, ".") || strings.Count(text, ".") > 1 {
		return false
	}
	return !strings.ContainsFunc(text, func(r rune) bool { return r != '.' && (r < '0' || r > '9') })
}

// measure is a unit and what it is worth in the unit that is kept.
type measure struct {
	unit string
	kept string
	size float64
}

// quantity returns the text under a key as an amount in one of the kept units.
func (s section) quantity(key string) (x float64, unit string, found, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return 0, "", false, true
	}
	v, k := e.value, s.keys.key(key)
	measures := k.measures
	do := fmt.Sprintf("write a number and its unit (%s), such as %s", strings.Join(k.units(), ", "), k.example)
	if v.kind != kindText {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), do)
		return 0, "", true, false
	}
	x, unit, ok = splitQuantity(v.text)
	i := slices.IndexFunc(measures, func(m measure) bool { return m.unit == unit })
	if !ok || i < 0 || math.IsInf(x*measures[i].size, 0) || x*measures[i].size == 0 {
		s.add(v.at, fmt.Sprintf("%s is %q", key, shorten(v.text)), do)
		return 0, "", true, false
	}
	return x * measures[i].size, measures[i].kept, true, true
}

// duration returns the text under a key as a time above zero, within the limit of the key.
func (s section) duration(key string) (d time.Duration, found, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return 0, false, true
	}
	d, what, do := e.value.duration(time.Duration(s.keys.key(key).most * float64(time.Hour)))
	if what != "" {
		s.add(e.value.at, key+" is "+what, do)
		return 0, true, false
	}
	return d, true, true
}

func (v *value) duration(longest time.Duration) (d time.Duration, what, do string) {
	const write = `write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`
	if v.kind != kindText {
		return 0, v.describe(), write
	}
	d, ok := parseDuration(v.text)
	switch {
	case !ok:
		return 0, fmt.Sprintf("%q", shorten(v.text)), write
	case d > longest:
		return 0, fmt.Sprintf("%q", v.text), fmt.Sprintf("keep it within %.0f h", longest.Hours())
	}
	return d, "", ""
}

// longestTime bounds what is read as a time at all: it fits a time.Duration.
const longestTime = 100 * 24 * time.Hour

// parseDuration reads "40 s", "1.5 h" and "1 min 30 s": numbers with units, the larger unit first.
// Times are kept to the millisecond. ok is false for anything else and for times above a hundred days.
func parseDuration(text string) (d time.Duration, ok bool) {
	units := []struct {
		name string
		size time.Duration
	}{{"h", time.Hour}, {"min", time.Minute}, {"s", time.Second}}
	from := 0
	rest := text
	for rest != "" {
		i := strings.IndexFunc(rest, unicode.IsLetter)
		if i < 0 {
			return 0, false
		}
		j := strings.IndexFunc(rest[i:], func(r rune) bool { return !unicode.IsLetter(r) })
		if j < 0 {
			j = len(rest) - i
		}
		x, unit, ok := splitQuantity(rest[:i+j])
		if !ok {
			return 0, false
		}
		u := slices.IndexFunc(units[from:], func(u struct {
			name string
			size time.Duration
		}) bool {
			return u.name == unit
		})
		if u < 0 || x*float64(units[from+u].size) > float64(longestTime) {
			return 0, false
		}
		d += time.Duration(math.Round(x*float64(units[from+u].size)/float64(time.Millisecond))) * time.Millisecond
		from += u + 1
		rest = strings.TrimLeftFunc(rest[i+j:], unicode.IsSpace)
	}
	return d, d > 0
}
