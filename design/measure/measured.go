// Package measure takes the logs of runs to the responses that a plan measures from them.
//
// In go the plan, the runs of a sheet and their logs; out comes for each run a [Run]: the
// value of each response with its standard uncertainty, or the reason why there is none.
// [All] measures many runs side by side, [Store] enters values in the run sheet and keeps
// what was measured in measured.json, [Read] reads that file.
//
// Read run.go first. design/log reads the text of a log, stats/trace computes.
package measure

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"fairrun/design/store"
)

// File is the record of what was measured, in the folder of a campaign.
const File = "measured.json"

// Schema names the form of the file.
const Schema = "fairrun.measured/1"

// Measured is what the file holds.
type Measured struct {
	Schema string `json:"schema"`
	Runs   []Run  `json:"runs"` // by their numbers
}

// Run is what was measured of one run.
type Run struct {
	Run    int     `json:"run"`
	File   string  `json:"file"`   // its log, seen from the campaign's folder
	SHA256 string  `json:"sha256"` // of the log
	Values []Value `json:"values"` // in the order of the plan's responses
}

// Value is one response of a run, in the response's unit.
type Value struct {
	Response    string    `json:"response"`
	Unit        string    `json:"unit"`
	Definition  string    `json:"definition"`    // what was measured, and in which columns
	Value       *float64  `json:"value"`         // null where there is a reason
	Uncertainty *float64  `json:"uncertainty"`   // standard: value ± 1.96 of it holds the truth in 95 % of logs
	Edges       []float64 `json:"edges"`         // instants that were used, s
	Steps       int       `json:"steps"`         // whose mean the value is; 0 for a measure of the whole log
	Spread      *float64  `json:"between_steps"` // standard deviation between the steps: they are no replicates
	Drift       *float64  `json:"drift"`         // of a steady state: by how much it rises over its length
	Hysteresis  *float64  `json:"hysteresis"`    // of a value: downward branch less upward branch
	Notes       []string  `json:"notes"`
	Reason      *string   `json:"reason"` // why there is no value
}

// Of returns what was measured of a run, nil if nothing was.
func (m *Measured) Of(run int) *Run {
	for i := range m.Runs {
		if m.Runs[i].Run == run {
			return &m.Runs[i]
		}
	}
	return nil
}

// Read reads the record of a campaign's folder; it is empty where there is none.
func Read(dir string) (*Measured, error) {
	m := &Measured{Schema: Schema}
	data, err := os.ReadFile(filepath.Join(dir, File))
	if errors.Is(err, fs.ErrNotExist) {
		return m, nil
	}
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(data, m); err != nil {
		return nil, fmt.Errorf("%s is not what fairrun wrote: %w; take it away and measure again", filepath.Join(dir, File), err)
	}
	if m.Schema != Schema {
		return nil, fmt.Errorf("%s has the schema %q; this version of fairrun reads %q", filepath.Join(dir, File), m.Schema, Schema)
	}
	return m, nil
}

// keep merges runs into the record of a folder.
func keep(dir string, runs []Run) (err error) {
	folder, err := store.Lock(dir)
	if err != nil {
		return err
	}
	defer folder.Release()
	old, err := os.ReadFile(filepath.Join(dir, File))
	absent := errors.Is(err, fs.ErrNotExist)
	if err != nil && !absent {
		return err
	}
	m, err := Read(dir)
	if err != nil {
		return err
	}
	m.Runs = slices.DeleteFunc(m.Runs, func(old Run) bool {
		return slices.ContainsFunc(runs, func(r Run) bool { return r.Run == old.Run })
	})
	m.Runs = append(m.Runs, runs...)
	slices.SortFunc(m.Runs, func(a, b Run) int { return a.Run - b.Run })
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(m); err != nil {
		return err
	}
	if bytes.Equal(old, b.Bytes()) {
		return nil
	}
	return folder.Replace(store.Change{Path: filepath.Join(dir, File), Data: b.Bytes(), Old: old, Absent: absent})
}
