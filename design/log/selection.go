package log

import "fairrun/design/unit"

// Selection says where in a log the time and the signals stand.
type Selection struct {
	Time    Time
	Columns []Column
}

// Time says how a log states when a row was taken. One of Header and Rate is given.
type Time struct {
	Header string    // heading of its column; "" with a Rate
	Unit   unit.Unit // of a number; not stated: the log's own, or s
	Clock  bool      // the column holds a time of day: 14:03:21.250, with or without a date
	Rate   float64   // rows a second, where there is no column of time
}

// Column is one signal.
type Column struct {
	Header string    // its heading, with or without the unit that stands in it
	Unit   unit.Unit // in which it is wanted; not stated: as the log has it
}

// Log is what was read.
type Log struct {
	Time    []float64   // s of each row; of a clock, since the midnight before the first
	Columns [][]float64 // in the order of the selection; NaN where a cell is empty
	Units   []unit.Unit // of each column: the selection's, otherwise the log's
	Cut     bool        // the last line was cut short and is left out
	SHA256  string      // of the file as it lies on disk, in hexadecimal
}
