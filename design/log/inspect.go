package log

import (
	"context"
	"math"
	"slices"
	"strings"

	"fairrun/design/unit"
)

// Description says what a log holds.
type Description struct {
	File      string      `json:"file"`
	SHA256    string      `json:"sha256"`
	Bytes     int64       `json:"bytes"`
	Separator string      `json:"separator"`
	Decimal   string      `json:"decimal"`
	Heading   int         `json:"heading_line"` // from 1; 0: there is none
	FirstRow  int         `json:"first_row_line"`
	Rows      int         `json:"rows"`
	Cut       bool        `json:"cut_short"`
	Time      *Clockwork  `json:"time"` // null where no column goes on as time does
	Columns   []Described `json:"columns"`
}

// Clockwork is the column of time.
type Clockwork struct {
	Column   int     `json:"column"` // from 1
	Heading  string  `json:"heading"`
	Unit     string  `json:"unit"`
	Guessed  bool    `json:"unit_guessed"` // the log does not state the unit
	Clock    bool    `json:"clock"`        // a time of day
	From     float64 `json:"from"`         // s, as are all that follow
	To       float64 `json:"to"`
	Interval float64 `json:"interval"`    // the median from row to row
	Longest  float64 `json:"longest_gap"` // from row to row
	Backward int     `json:"not_later"`   // rows whose stamp is not later than the one before
}

// Described is one column.
type Described struct {
	Heading  string       `json:"heading"`
	Name     string       `json:"name"` // the heading without its unit
	Unit     string       `json:"unit"` // "" where the log does not say
	Holds    string       `json:"holds"`
	Values   int          `json:"values"`
	Empty    int          `json:"empty"`
	Low      float64      `json:"low"`
	High     float64      `json:"high"`
	Few      bool         `json:"few_values"` // eight different values at most, as a command has
	Envelope [][2]float64 `json:"-"`          // least and largest value of each piece, in the order of rows

	last, step   float64
	rising       int
	distinct     []float64
	perBin, open int // rows a piece; rows in the last one
}

// What a column holds.
const (
	Numbers = "numbers"
	Times   = "times of day"
	Words   = "words"
)

// fewValues is how many different values a command has at most.
const fewValues = 8

// mostPieces is how many pieces an envelope has at most; then two become one.
const mostPieces = 256

// Inspect reads a log whole and says what it holds. Memory does not grow with its length.
func Inspect(ctx context.Context, path string) (*Description, error) {
	r, err := open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.source.file.Close() }() // it was only read
	d := &Description{File: path, Bytes: r.source.bytes, Heading: r.shape.heading, FirstRow: r.shape.first,
		Separator: map[byte]string{'\t': "tab", ';': "semicolon", ',': "comma", '|': "bar", ' ': "blank"}[r.shape.separator]}
	r.log, r.want = &Log{}, Selection{Time: Time{Rate: 1}}
	for c, h := range r.shape.columns {
		about := Described{Heading: h.text, Name: h.name, Unit: h.unit, Holds: Words, Low: math.Inf(1), High: math.Inf(-1), last: math.NaN(), perBin: 1}
		switch {
		case h.number:
			about.Holds = Numbers
		case h.clock:
			about.Holds = Times
		}
		d.Columns = append(d.Columns, about)
		if h.number || h.clock {
			r.wanted = append(r.wanted, wanted{place: c, index: c, clock: h.clock, scale: 1})
		}
	}
	r.values = make([]float64, len(d.Columns)+1)
	intervals := make([]sampler, len(d.Columns))
	r.take = func(values []float64) {
		for c := range d.Columns {
			d.Columns[c].add(values[c], &intervals[c])
		}
	}
	if err := r.rows(); err != nil {
		return nil, err
	}
	d.Rows, d.Cut = r.count, r.log.Cut
	d.Decimal = "point"
	if r.shape.decimal == ',' {
		d.Decimal = "comma"
	}
	d.findTime(intervals)
	for c := range d.Columns {
		if a := &d.Columns[c]; a.Values == 0 {
			a.Low, a.High = 0, 0
		}
	}
	d.SHA256, err = r.source.hash()
	return d, err
}

// add takes one cell of a column.
func (a *Described) add(x float64, intervals *sampler) {
	if a.Holds == Words {
		return
	}
	if math.IsNaN(x) {
		a.Empty++
		return
	}
	if a.Values > 0 {
		step := x - a.last
		intervals.add(step)
		if step > 0 {
			a.rising++
		}
		a.step = max(a.step, step)
	}
	a.last = x
	a.Values++
	a.Low, a.High = min(a.Low, x), max(a.High, x)
	if len(a.distinct) <= fewValues && !slices.Contains(a.distinct, x) {
		a.distinct = append(a.distinct, x)
	}
	a.Few = len(a.distinct) > 1 && len(a.distinct) <= fewValues
	if n := len(a.Envelope); n == 0 || a.open == a.perBin {
		if n == mostPieces {
			for i := range n / 2 {
				b, c := a.Envelope[2*i], a.Envelope[2*i+1]
				a.Envelope[i] = [2]float64{min(b[0], c[0]), max(b[1], c[1])}
			}
			a.Envelope = a.Envelope[:n/2]
			a.perBin *= 2
		}
		a.Envelope = append(a.Envelope, [2]float64{x, x})
		a.open = 0
	}
	last := &a.Envelope[len(a.Envelope)-1]
	last[0], last[1] = min(last[0], x), max(last[1], x)
	a.open++
}

// timeNames are headings of columns of time.
var timeNames = []string{"t", "time", "zeit", "timestamp", "time stamp", "elapsed", "elapsed time", "clock", "temps", "tiempo"}

const mostlyRising = 0.9 // of the rows, where a column may be time

// findTime finds the column of time: a clock, one that is called so, or the first that rises throughout.
func (d *Description) findTime(intervals []sampler) {
	best, rank := -1, 0
	for c, a := range d.Columns {
		rises := a.Values > 1 && float64(a.rising) >= mostlyRising*float64(a.Values-1)
		second, _ := unit.Parse("s")
		stated, err := unit.Parse(a.Unit)
		points := 0
		switch {
		case a.Holds == Times:
			points = 4
		case !rises:
		case slices.Contains(timeNames, strings.ToLower(a.Name)):
			points = 3
		case a.Unit != "" && err == nil && stated.Like(second):
			points = 2
		default:
			points = 1
		}
		if points > rank {
			best, rank = c, points
		}
	}
	if best < 0 {
		return
	}
	a := &d.Columns[best]
	w := &Clockwork{Column: best + 1, Heading: a.Heading, Unit: a.Unit, Clock: a.Holds == Times, Backward: a.Values - 1 - a.rising}
	interval := intervals[best].median()
	size := 1.0
	if u, err := unit.Parse(a.Unit); err == nil && a.Unit != "" {
		size = u.Size()
	} else if !w.Clock {
		w.Unit, w.Guessed = "s", true
		if interval >= 1 && a.High-a.Low > 300 {
			w.Unit, size = "ms", 1e-3
		}
	}
	w.From, w.To, w.Interval, w.Longest = size*a.Low, size*a.High, size*interval, size*a.step
	d.Time = w
}

// sampler keeps some of many numbers, evenly spread over them.
type sampler struct {
	kept    []float64
	every   int
	waiting int
}

const mostKept = 4096

func (s *sampler) add(x float64) {
	if s.waiting--; s.waiting > 0 {
		return
	}
	if len(s.kept) == mostKept {
		for i := range mostKept / 2 {
			s.kept[i] = s.kept[2*i]
		}
		s.kept = s.kept[:mostKept/2]
		s.every *= 2
	}
	s.every = max(1, s.every)
	s.waiting = s.every
	s.kept = append(s.kept, x)
}

// median is that of the numbers kept; 0 of none.
func (s *sampler) median() float64 {
	if len(s.kept) == 0 {
		return 0
	}
	slices.Sort(s.kept)
	return s.kept[len(s.kept)/2]
}
