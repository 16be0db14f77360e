package log

import (
	"fmt"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"fairrun/design/unit"
)

// Propose writes the [log] section of a plan that fits a log. file is its path seen from the
// campaign's folder, "" for one that lies elsewhere.
func (d *Description) Propose(file string) string {
	var b strings.Builder
	b.WriteString("[log]\n")
	if pattern := patternOf(file); pattern != "" {
		fmt.Fprintf(&b, "files = %s\n", strconv.Quote(pattern))
	}
	switch t := d.Time; {
	case t == nil:
		b.WriteString("time = { rate = \"1 kHz\" }  # no column goes on as time does: write the logger's rate\n")
	case t.Clock:
		fmt.Fprintf(&b, "time = { header = %s, clock = true }\n", strconv.Quote(d.nameOf(t.Column-1)))
	case t.Guessed:
		fmt.Fprintf(&b, "time = { header = %s, unit = %q }  # the unit is a guess: check it\n", strconv.Quote(d.nameOf(t.Column-1)), t.Unit)
	default:
		fmt.Fprintf(&b, "time = { header = %s, unit = %s }\n", strconv.Quote(d.nameOf(t.Column-1)), strconv.Quote(t.Unit))
	}
	b.WriteString("[log.columns]\n")
	taken := map[string]int{}
	for c, a := range d.Columns {
		if a.Holds != Numbers || d.Time != nil && c == d.Time.Column-1 {
			continue
		}
		name := signalName(a.Name)
		if taken[name]++; taken[name] > 1 {
			name += "_" + itoa(taken[name])
		}
		of, note := a.Unit, ""
		if of == "" || !unit.Known(of) {
			of, note = "1", "  # the log does not say the unit: write it"
		}
		if a.Few {
			if note == "" {
				note = "  #"
			} else {
				note += ";"
			}
			note += " few values: a command?"
		}
		fmt.Fprintf(&b, "%s = { header = %s, unit = %s }%s\n", name, strconv.Quote(d.nameOf(c)), strconv.Quote(of), note)
	}
	return b.String()
}

// nameOf is by what a column is found again: its heading, without the unit where that is enough.
func (d *Description) nameOf(column int) string {
	for c, a := range d.Columns {
		if c != column && a.Name == d.Columns[column].Name {
			return d.Columns[column].Heading
		}
	}
	return d.Columns[column].Name
}

var lastNumber = regexp.MustCompile(`^(.*?)([0-9]+)([^0-9]*)$`)

// patternOf makes a pattern of the name of one log: its last number is taken for that of the run.
func patternOf(file string) string {
	if file == "" {
		return ""
	}
	file = strings.TrimSuffix(filepath.ToSlash(file), ".gz")
	dir, name := "", file
	if i := strings.LastIndexByte(file, '/'); i >= 0 {
		dir, name = file[:i+1], file[i+1:]
	}
	m := lastNumber.FindStringSubmatch(name)
	if m == nil {
		return ""
	}
	run := "{run}"
	if n := len(m[2]); n > 1 && n < 10 && m[2][0] == '0' {
		run = fmt.Sprintf("{run:%02d}", n)
	}
	return dir + m[1] + run + m[3]
}

var notInName = regexp.MustCompile(`[^a-z0-9]+`)

// signalName makes a name of a heading: letters, digits and _, a letter first.
func signalName(heading string) string {
	letters := strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss", "é", "e", "è", "e", "å", "a", "ø", "o", "µ", "u").Replace(strings.ToLower(heading))
	name := strings.Trim(notInName.ReplaceAllString(letters, "_"), "_")
	if name == "" || name[0] < 'a' {
		name = "signal_" + name
	}
	return strings.TrimRight(name[:min(len(name), 40)], "_")
}
