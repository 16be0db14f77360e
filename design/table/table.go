// Package table reads, checks and rewrites a person's table in a text file, as
// spreadsheets, R and people at a keyboard write them.
//
// Two readers share one scanner and so accept the same files:
//
//   - [Read] and [Parse] make a [Document], which keeps every byte: writing it
//     back gives the file that was read, and replacing one cell changes the
//     bytes of that cell alone. It is for files that people and programs fill in
//     turns.
//   - [ReadColumns] streams a file of any length and keeps only the columns that
//     are wanted: categorical ones as codes and levels, numeric ones as exact
//     decimals. It is for data.
//
// # What is accepted
//
// UTF-8, with or without a byte order mark. Separators are comma, semicolon or
// tab, as the header shows (or by a first line such as "sep=;"). Rows end with
// CRLF, LF or CR; the last may have no end. A cell may stand in double quotes,
// with "" for a quote, and then hold separators and line ends. Spaces around a
// cell do not count, inside quotes they do. A quote inside an unquoted cell
// (5" prop) is a character like any other. Rows with nothing in them, not even
// quotes, are passed over, and kept. Headings must differ; empty ones are
// allowed (R writes one over its row names).
//
// encoding/csv cannot be used: it hides the raw bytes, and with them the byte
// order mark, the line ends, the quoting and the spaces that must survive.
//
// # Numbers
//
// A number has digits, at most one decimal mark and an optional exponent. The
// mark is a point, or a comma where the separator is not a comma; one column
// uses one mark throughout. Nothing is read as a thousands separator. An empty
// cell is a missing value, and so is an unquoted NA, as R writes it; other words
// are faults.
//
// # Faults
//
// Readers return [fault.List]: everything that is wrong, each [fault.Fault] with its row,
// column, what was found and what to do. Rows count as a spreadsheet shows them:
// the first row of the file is row 1, a cell of many lines is one row.
//
// Read table.go first, then document.go.
package table
