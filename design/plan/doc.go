// Package plan reads, checks and writes the files that a person writes a plan in: campaign.toml, and
// noise.toml beside it.
//
// In goes the text of a file; out comes a design.Plan in which every default is resolved, or all
// faults of the file at once, joined, each a fault.Fault with file, line, column, what was found and what
// to do. Reading is strict: a key the plan does not know, a value of the wrong type and a plan that
// could never answer its question are faults.
//
// Starter writes the commented file that a campaign begins with. SetSeed, SetBlockCount and
// SetFoldOver change a key of a file and keep every other byte.
//
// Read keys.go first: the table of all keys, which the reader, Starter and docs/files.md share. Then
// read.go; the file named after a table of the plan reads that table.
package plan
