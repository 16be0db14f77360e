package plan

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/unit"
)

// log reads [log].
func (r *planReader) log(t *table) *design.Log {
	s := r.section(t, "[log]")
	l := &design.Log{}
	if files, found, ok := s.text("files"); found && ok {
		l.Files = files
		if what, do := patternFault(files); what != "" {
			s.add(t.byKey["files"].value.at, "files "+what, do)
		}
	}
	if time := s.sub("time", "[log.time]"); time != nil {
		l.Time = r.logTime(time)
	} else if t.byKey["time"] == nil {
		s.missing("time", `add time = { header = "t", unit = "s" }, or time = { rate = "2 kHz" }`)
	}
	columns := s.sub("columns", "[log.columns]")
	if columns == nil {
		if t.byKey["columns"] == nil {
			s.missing("[log.columns]", `add it, with a line for each signal: rpm = { header = "Speed", unit = "rpm" }; "fairrun measure --inspect FILE" proposes one`)
		}
		return l
	}
	for _, e := range columns.entries {
		if e.value.kind != kindTable {
			r.add(e.at, fmt.Sprintf("%s in [log.columns] is %s", e.key, e.value.describe()), fmt.Sprintf(`write %s = { header = "…", unit = "…" }`, e.key))
			continue
		}
		if !signalWord(e.key) {
			r.add(e.at, fmt.Sprintf("%q cannot name a signal", e.key), "use letters, digits and _, a letter first")
			continue
		}
		l.Columns = append(l.Columns, r.logColumn(e.value.table, e.key))
	}
	return l
}

var signalName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_]*$`)

// signalWord reports whether a name can stand in a formula.
func signalWord(name string) bool { return signalName.MatchString(name) && len(name) <= longestName }

var placeholder = regexp.MustCompile(`\{run(:0[1-9])?\}`)

// patternFault says what is wrong with the pattern of the files of logs.
func patternFault(pattern string) (what, do string) {
	rest := placeholder.ReplaceAllString(pattern, "")
	switch {
	case strings.ContainsAny(rest, "{}"):
		return fmt.Sprintf("is %q, with braces that mean nothing", pattern), "write {run} for the number of the run, {run:02} for two digits"
	case rest == pattern:
		return fmt.Sprintf("is %q, one file for all runs", pattern), "write {run} where the number of the run stands"
	case strings.HasPrefix(pattern, "/"), slices.Contains(strings.Split(pattern, "/"), ".."), strings.Contains(pattern, "\\"):
		return fmt.Sprintf("is %q, outside the campaign's folder", pattern), `write a path within it, with "/" between folders: "logs/{run:02}.csv"`
	}
	return "", ""
}

// logTime reads [log.time].
func (r *planReader) logTime(t *table) design.LogTime {
	s := r.section(t, "[log.time]")
	var time design.LogTime
	header, hasHeader, _ := s.text("header")
	time.Header = header
	if u, found, ok := s.unitOf("unit", "s"); found && ok {
		time.Unit = u.String()
	}
	time.Clock, _, _ = s.truth("clock")
	rate, hasRate, _ := s.sized("rate", "Hz")
	time.Rate = rate.Value
	switch {
	case hasHeader && hasRate:
		s.add(t.byKey["rate"].at, "time has both header and rate", "keep header where the log has a column of time, otherwise rate")
	case !hasHeader && !hasRate:
		s.missing("header", `add header = "t", the heading of the column of time, or rate = "2 kHz"`)
	case time.Clock && time.Unit != "":
		s.add(t.byKey["unit"].at, "time has both clock and unit", "take unit out: a time of day has none")
	}
	if hasRate && rate.Value <= 0 && s.table.byKey["rate"].value.kind == kindText && rate != (design.Quantity{}) {
		s.add(t.byKey["rate"].value.at, "rate is "+rate.String(), "it must be above zero")
	}
	return time
}

// logColumn reads one column of [log.columns].
func (r *planReader) logColumn(t *table, name string) design.LogColumn {
	s := r.sectionNamed(t, "[log.columns.NAME]", name)
	c := design.LogColumn{Name: name}
	header, found, _ := s.text("header")
	if !found {
		s.lacks("header")
	}
	c.Header = header
	if u, found, ok := s.unitOf("unit", ""); !found {
		s.lacks("unit")
	} else if ok {
		c.Unit = u.String()
	}
	_, c.Zero, _ = s.word("zero")
	delay, _, _ := s.sized("delay", "s")
	c.Delay = delay.Value
	return c
}

// unitOf reads the unit under a key; like names what it must measure, "" for anything.
func (s section) unitOf(key, like string) (u unit.Unit, found, ok bool) {
	text, found, ok := s.text(key)
	if !found || !ok {
		return u, found, ok
	}
	at := s.table.byKey[key].value.at
	u, err := unit.Parse(text)
	if err != nil {
		s.add(at, fmt.Sprintf("%s: %v", key, err), `write it by its sign, such as "rpm", "gf", "V", "kg·m²" or "N/W"; "1" where there is none`)
		return u, true, false
	}
	if wanted, _ := unit.Parse(like); like != "" && !u.Like(wanted) {
		s.add(at, fmt.Sprintf("%s is %q", key, text), fmt.Sprintf("write a unit that measures what %s does", like))
		return u, true, false
	}
	return u, true, true
}

var sizedText = regexp.MustCompile(`^([+-]?[0-9]+(?:\.[0-9]+)?)\s*(\D.*)?$`)

// quantityOf reads "8 N", "-3.5 A" or "10%" of which the number is kept as a share.
func quantityOf(text string) (q design.Quantity, ok bool) {
	if x, isPercent := parsePercent(text); isPercent {
		return design.Quantity{Value: x, Unit: "%"}, true
	}
	m := sizedText.FindStringSubmatch(text)
	if m == nil || !unit.Known(m[2]) {
		return q, false
	}
	q.Unit = m[2]
	if _, err := fmt.Sscan(m[1], &q.Value); err != nil {
		return q, false
	}
	return q, true
}

// sized reads a number with a unit and returns it in the unit that is wanted.
func (s section) sized(key, in string) (q design.Quantity, found, ok bool) {
	wanted, err := unit.Parse(in)
	if err != nil {
		panic("plan: " + err.Error())
	}
	q, found, ok = s.quantityIn(key, wanted)
	if found && ok {
		u, _ := unit.Parse(q.Unit)
		size, _ := u.In(wanted)
		q = design.Quantity{Value: q.Value * size, Unit: in}
	}
	return q, found, ok
}

// quantityIn reads a number whose unit measures the same as another, and keeps it as it is written.
func (s section) quantityIn(key string, like unit.Unit) (q design.Quantity, found, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return q, false, true
	}
	do := fmt.Sprintf("write a number and its unit in quotes, such as %s", s.keys.key(key).example)
	if like.String() != "" {
		do += "; it is counted in " + like.String()
	}
	v := e.value
	if v.kind != kindText {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), do)
		return q, true, false
	}
	q, ok = quantityOf(v.text)
	u, _ := unit.Parse(q.Unit)
	if !ok || !u.Like(like) {
		s.add(v.at, fmt.Sprintf("%s is %q", key, shorten(v.text)), do)
		return design.Quantity{}, true, false
	}
	return q, true, true
}
