package design

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"github.com/natefinch/atomic"
)

// NoiseFile is what a noise record is called unless told otherwise.
const NoiseFile = "noise.toml"

// NoiseRecord is how much a bench was measured to scatter, kept with the rig for the plans to come.
type NoiseRecord struct {
	Title     string // of the campaign that measured it
	Scope     string // what was tested
	Responses []MeasuredNoise
}

// MeasuredNoise is the run-to-run standard deviation of one response, with what is known of it.
type MeasuredNoise struct {
	Name     string
	Unit     string
	Relative bool    // SD, its limits and the parts are shares of the mean
	Mean     float64 // that SD was measured at, in the unit
	SD       float64
	Low      float64 // limits of SD with confidence 0.95
	High     float64 // 0: the data set no bound
	DF       float64
	Parts    []NoisePart // what else scatters: packs, units, whole plots
}

// NoisePart is the standard deviation between packs, units or the like, in the terms of SD.
type NoisePart struct {
	Name string
	SD   float64
}

// ReadNoise reads and checks a noise record. Its faults come joined, each a *Fault; see Faults.
func ReadNoise(path string) (*NoiseRecord, error) {
	data, err := readFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("there is no noise record %s; \"fairrun verdict --save-noise FILE\" writes one", path)
	}
	if err != nil {
		return nil, err
	}
	return ParseNoise(path, data)
}

// ParseNoise reads and checks a noise record; name is what its faults call the file.
func ParseNoise(name string, data []byte) (*NoiseRecord, error) {
	l, _, err := open(name, data)
	if err != nil {
		return nil, err
	}
	root, whole := parseDocument(l)
	if !whole {
		return nil, l.err()
	}
	s := l.section(root, "the noise record", "title", "scope", "response")
	n := &NoiseRecord{}
	n.Title, _, _ = s.text("title")
	n.Scope, _, _ = s.text("scope")
	if root.byKey["response"] == nil {
		s.missing("[[response]]", `is this a file that "fairrun verdict --save-noise" wrote?`)
	}
	for _, t := range s.subs("response") {
		m := l.section(t, "[[response]]", "name", "unit", "relative", "mean", "sd", "sd_low", "sd_high", "df", "parts").measuredNoise()
		for _, other := range n.Responses {
			if m.Name != "" && m.Name == other.Name {
				l.add(t.byKey["name"].value.at, fmt.Sprintf("the response %q stands twice", m.Name), "keep the record of one campaign")
			}
		}
		n.Responses = append(n.Responses, m)
	}
	if err := l.err(); err != nil {
		return nil, err
	}
	return n, nil
}

func (s section) measuredNoise() MeasuredNoise {
	var m MeasuredNoise
	var found bool
	if m.Name, found, _ = s.text("name"); !found {
		s.missing("name", "name the response")
	}
	if _, given := s.table.byKey["unit"]; given {
		m.Unit, _ = s.unit("unit")
	}
	m.Relative, _, _ = s.truth("relative")
	m.Mean, _, _ = s.number("mean")
	m.SD = s.above("sd", true)
	m.Low, m.High = s.above("sd_low", false), s.above("sd_high", false)
	m.DF = s.above("df", true)
	if m.SD > 0 && (m.Low > m.SD || m.High > 0 && m.High < m.SD) {
		s.add(s.table.byKey["sd"].value.at, "sd is outside its limits", "measure the noise again, or take sd_low and sd_high out")
	}
	for _, t := range s.subs("parts") {
		p := s.section(t, "parts", "name", "sd")
		var part NoisePart
		if part.Name, found, _ = p.text("name"); !found {
			p.missing("name", "name what differs")
		}
		part.SD, found, _ = p.number("sd")
		switch {
		case !found:
			p.missing("sd", "add its standard deviation")
		case part.SD < 0:
			p.add(t.byKey["sd"].value.at, fmt.Sprintf("sd is %v", part.SD), "write 0 or more")
		}
		m.Parts = append(m.Parts, part)
	}
	return m
}

// above returns the number above zero under a key, which must be there if needed.
func (s section) above(key string, needed bool) float64 {
	x, found, ok := s.number(key)
	switch {
	case !found && needed:
		s.missing(key, "measure the noise again")
	case found && ok && !(x > 0):
		s.add(s.table.byKey[key].value.at, fmt.Sprintf("%s is %v; it must be above zero", key, x), "measure the noise again")
	}
	return x
}

// Write writes the record to a file, whole or not at all.
func (n *NoiseRecord) Write(path string) error {
	return atomic.WriteFile(path, bytes.NewReader(n.text()))
}

// text is the file.
func (n *NoiseRecord) text() []byte {
	var w starter
	w.notes(`Noise that a bench was measured to have, written by "fairrun verdict --save-noise". Keep it with the rig:`,
		`"fairrun replicates --pilot FILE" plans the next campaign from it. Relative numbers are shares of the mean.`)
	if n.Title != "" {
		w.key("title", quoted(n.Title), "")
	}
	if n.Scope != "" {
		w.key("scope", quoted(n.Scope), "")
	}
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	for _, m := range n.Responses {
		w.WriteString("\n[[response]]\n")
		w.key("name", quoted(m.Name), "")
		if m.Unit != "" {
			w.key("unit", quoted(m.Unit), "")
		}
		w.key("relative", strconv.FormatBool(m.Relative), "")
		w.key("mean", number(m.Mean), "")
		w.key("sd", number(m.SD), "from run to run")
		if m.Low > 0 {
			w.key("sd_low", number(m.Low), "")
		}
		if m.High > 0 {
			w.key("sd_high", number(m.High), "")
		}
		w.key("df", number(m.DF), "degrees of freedom behind it")
		var parts []string
		for _, p := range m.Parts {
			parts = append(parts, fmt.Sprintf("{name = %s, sd = %s}", quoted(p.Name), number(p.SD)))
		}
		if parts != nil {
			w.key("parts", "["+strings.Join(parts, ", ")+"]", "")
		}
	}
	return []byte(w.String())
}
