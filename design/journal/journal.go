// Package journal keeps every change of a campaign's results, one line each, in a file that is only ever
// added to. What goes in is an [Entry]; what comes out of a file is a [Journal], which knows what each
// cell was recorded to hold and what it held before. Read journal.go.
//
// A line is a JSON object that ends with a checksum of what stands before it. No line refers to another:
// lines that version control or a synchronising drive merged from two files are read as they stand, and
// lines that are damaged, doubled or were put between are passed over.
package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// File is what a journal is called in a campaign's folder.
const File = "journal.jsonl"

// Schema names the form of a line.
const Schema = "fairrun.journal/2"

// By is what made a change.
type By string

// What makes changes.
const (
	Draw   By = "draw"   // an order was drawn
	Extend By = "extend" // blocks were added
	Begin  By = "begin"  // the journal began, in a campaign that was drawn before
	Record By = "record" // results were recorded
	Edit   By = "edit"   // a person changed the sheet, seen when the program wrote next
	Undo   By = "undo"   // the last record was taken back
	Repair By = "repair" // what had vanished from the sheet was put back
)

// Entry is one change.
type Entry struct {
	Schema string    `json:"schema"`
	Time   time.Time `json:"time"`
	By     By        `json:"by"`
	Run    int       `json:"run,omitempty"`
	Cells  []Cell    `json:"cells,omitempty"`

	// Of a draw or an extension: what it takes to draw again.
	Hash    string          `json:"hash,omitempty"` // of the plan
	Plan    json.RawMessage `json:"plan,omitempty"` // in canonical form
	Seed    uint64          `json:"seed,omitempty"`
	Version int             `json:"version,omitempty"` // of the generator
	Blocks  int             `json:"blocks,omitempty"`  // drawn
	Record  string          `json:"record,omitempty"`  // hash of the record of the draw, as a file
}

// Cell is what a cell of the run's row held and holds: numbers with a point, times as RFC 3339.
type Cell struct {
	Column string `json:"column"`
	Old    string `json:"old"`
	New    string `json:"new"`
}

// sumKey begins the end of a line, behind which are the digits of the checksum, a quote and a brace.
const (
	sumKey    = `,"sum":"`
	sumDigits = 16
)

func sum(text []byte) string {
	s := sha256.Sum256(text)
	return hex.EncodeToString(s[:])[:sumDigits]
}

// Line is the entry as a line of a journal.
func (e Entry) Line() []byte {
	e.Schema = Schema
	e.Time = e.Time.UTC()
	var b bytes.Buffer
	encoder := json.NewEncoder(&b)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(e); err != nil {
		panic("journal: an entry that is no JSON")
	}
	text := bytes.TrimSuffix(b.Bytes(), []byte("}\n"))
	return fmt.Appendf(nil, "%s%s%s\"}\n", text, sumKey, sum(text))
}

// Lines are entries as lines.
func Lines(entries []Entry) (text []byte) {
	for _, e := range entries {
		text = append(text, e.Line()...)
	}
	return text
}

// ErrNewer is wrapped in the error of Parse for a journal with lines of a newer version.
var ErrNewer = errors.New("made by a newer fairrun: update this one")

// Journal is what a file holds.
type Journal struct {
	Entries []Entry
	Damaged []int // the numbers of lines that cannot be relied on, from 1

	cells map[Place]*[]string
}

// Place is a cell of the sheet.
type Place struct {
	Run    int
	Column string
}

// Parse reads a journal; name is what its errors call the file.
func Parse(name string, data []byte) (*Journal, error) {
	j := &Journal{cells: map[Place]*[]string{}}
	seen := map[string]bool{}
	n := 0
	for line := range bytes.Lines(data) {
		n++
		line = bytes.TrimSpace(line)
		if len(line) == 0 || seen[string(line)] {
			continue
		}
		e, err := parseLine(line)
		if errors.Is(err, ErrNewer) {
			return nil, fmt.Errorf("%s: line %d: %w", name, n, err)
		}
		if err != nil {
			j.Damaged = append(j.Damaged, n)
			continue
		}
		seen[string(line)] = true
		j.add(e)
	}
	return j, nil
}

func parseLine(line []byte) (e Entry, err error) {
	at := len(line) - len(sumKey) - sumDigits - len(`"}`)
	if at < 0 || !bytes.HasPrefix(line[at:], []byte(sumKey)) || string(line[at+len(sumKey):len(line)-2]) != sum(line[:at]) {
		return e, errors.New("the checksum does not fit")
	}
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(line, &head); err != nil {
		return e, err
	}
	if head.Schema != Schema {
		if strings.HasPrefix(head.Schema, "fairrun.journal/") {
			return e, ErrNewer
		}
		return e, errors.New("no line of a journal")
	}
	return e, json.Unmarshal(line, &e)
}

func (j *Journal) add(e Entry) {
	j.Entries = append(j.Entries, e)
	if e.By == Draw {
		j.cells = map[Place]*[]string{} // of another sheet
	}
	for _, c := range e.Cells {
		at := Place{e.Run, c.Column}
		h := j.cells[at]
		if h == nil {
			h = &[]string{""}
			j.cells[at] = h
		}
		*h = append(*h, c.New)
	}
}

// Holds returns what a cell was last recorded to hold; known is false if nothing is recorded of it.
func (j *Journal) Holds(at Place) (text string, known bool) {
	if h := j.cells[at]; h != nil {
		return (*h)[len(*h)-1], true
	}
	return "", false
}

// Held reports whether a cell held what same accepts at an earlier time, before it held what it does.
func (j *Journal) Held(at Place, same func(text string) bool) bool {
	h := j.cells[at]
	if h == nil {
		return same("")
	}
	for _, text := range (*h)[:len(*h)-1] {
		if same(text) {
			return true
		}
	}
	return false
}

// Places are all cells that the journal knows, in no order.
func (j *Journal) Places() (all []Place) {
	for at := range j.cells {
		all = append(all, at)
	}
	return all
}
