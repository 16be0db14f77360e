// Package log reads a log of a bench: any text file whose rows hold a time and signals, as
// loggers, telemetry, oscilloscopes and spreadsheets write them.
//
// In goes a path and a [Selection], the columns that are wanted; out comes a [Log], a slice of
// numbers for each and one of time in s. [Inspect] says what a file holds without a selection.
//
// Read selection.go first, then read.go. shape.go finds out how the file is written: what
// separates cells, the decimal mark, where heading, units and rows begin.
//
// # What is accepted
//
// Cells are separated by a tab, semicolon, comma, bar or blanks. Decimals have a point, or a
// comma where no comma separates cells. Lines of any kind may stand before the heading, a
// row of units behind it; units may also stand in the heading: "Speed [rpm]". Time is a
// number in s, ms, µs or another unit, a clock with or without a date, or follows from a
// sample rate. Lines that begin with # are passed over. Files that end in .gz are
// unpacked as they are read.
//
// An empty cell is absent, and so are "-", "NA", "NaN" and "null"; they become NaN. Any other text
// among numbers is a fault, and the log is not read. A last line that was cut short is left out.
//
// Stamps come back as they are: what to do with gaps, duplicates and time that runs
// backwards is for stats/trace. Only a clock that passes midnight is led on.
//
// # Memory
//
// A file is read in pieces. What is kept is 8 bytes a row for each column wanted.
package log
