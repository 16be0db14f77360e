package log

import "bytes"

const (
	daySeconds = 86400
	halfDay    = daySeconds / 2
)

// clock reads a time of day, "14:03:21.250" or with a comma, and a date before it, if there is one:
// 2026-05-09, 2026/05/09, 09.05.2026 or 05/09/2026. What follows the seconds, a zone such as Z
// or +02:00, is not looked at: it is the same throughout a log. day counts from an arbitrary day and
// is 0 without a date.
func clock(cell []byte) (day int, seconds float64, dated, ok bool) {
	time := cell
	if i := bytes.IndexAny(cell, " T"); i > 0 && bytes.IndexByte(cell[:i], ':') < 0 {
		if day, ok = date(cell[:i]); !ok {
			return 0, 0, false, false
		}
		dated = true
		time = bytes.TrimLeft(cell[i+1:], " ")
	}
	hours, rest, ok := digits(time, ':')
	if !ok || hours > 24 {
		return 0, 0, false, false
	}
	minutes, rest, ok := digits(rest, ':')
	if !ok || minutes > 59 {
		return 0, 0, false, false
	}
	end := 0
	for end < len(rest) && (rest[end] == '.' || rest[end] == ',' || '0' <= rest[end] && rest[end] <= '9') {
		end++
	}
	s, _, ok := number(rest[:end])
	if !ok || s >= 61 || !zone(rest[end:]) {
		return 0, 0, false, false
	}
	return day, float64(3600*hours+60*minutes) + s, dated, true
}

// zone reports whether a text may follow a time of day.
func zone(text []byte) bool {
	if len(text) == 0 || len(text) == 1 && text[0] == 'Z' {
		return true
	}
	text = bytes.TrimLeft(text, " ")
	return len(text) >= 3 && len(text) <= 6 && (text[0] == '+' || text[0] == '-') &&
		len(bytes.Trim(text[1:], "0123456789:")) == 0
}

// digits reads one or more digits, at most four, and what separates them from the rest.
func digits(text []byte, separator byte) (n int, rest []byte, ok bool) {
	for i, c := range text {
		if c == separator {
			return n, text[i+1:], i > 0
		}
		if c < '0' || c > '9' || i > 3 {
			break
		}
		n = 10*n + int(c-'0')
	}
	return 0, nil, false
}

// date reads a date as the number of its day.
func date(text []byte) (day int, ok bool) {
	i := bytes.IndexAny(text, "-/.")
	if i < 0 {
		return 0, false
	}
	separator := text[i]
	a, rest, okA := digits(text, separator)
	b, rest, okB := digits(rest, separator)
	c, _, okC := digits(append(bytes.Clone(rest), 0), 0)
	if !okA || !okB || !okC {
		return 0, false
	}
	y, m, d := a, b, c
	switch {
	case i == 4:
	case separator == '/':
		y, m, d = c, a, b
	default:
		y, m, d = c, b, a
	}
	if m > 12 && d <= 12 { // day and month the other way round
		m, d = d, m
	}
	if m < 1 || m > 12 || d < 1 || d > 31 {
		return 0, false
	}
	// The days of a year that begins in March (Hatcher 1984).
	if m < 3 {
		y, m = y-1, m+12
	}
	return 365*y + y/4 - y/100 + y/400 + (153*m-457)/5 + d, true
}

// stamps turns cells of a clock into s that go on past midnight.
type stamps struct {
	first, led int     // the day of the first stamp; days that midnight added
	last       float64 // stamp
	begun      bool
}

func (s *stamps) next(cell []byte) (t float64, ok bool) {
	day, seconds, dated, ok := clock(cell)
	if !ok {
		return 0, false
	}
	if !s.begun {
		s.begun, s.first, s.last = true, day, seconds
	}
	t = float64(day-s.first+s.led)*daySeconds + seconds
	if !dated && t < s.last-halfDay {
		s.led++
		t += daySeconds
	}
	s.last = t
	return t, true
}
