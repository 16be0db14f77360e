package plan

import (
	"fairrun/design"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// section is one table of the plan while it is read.
type section struct {
	*ledger
	table *table
	name  string    // as the person would point to it: "[block]", "the plan"
	keys  tableKeys // what is known of its keys
}

// section opens the table with a head, in which its keys may stand; any other is a fault.
func (l *ledger) section(t *table, head string) section {
	return l.sectionOf(t, head, head, keysOf(head).allowed())
}

// sectionOf is section for a table whose head, or whose keys, hold names of the plan.
func (l *ledger) sectionOf(t *table, head, name string, allowed []string) section {
	for _, e := range t.entries {
		if !slices.Contains(allowed, e.key) && !l.full() {
			l.add(e.at, fmt.Sprintf("unknown key %q in %s", e.key, name), oneOf(e.key, allowed...))
		}
	}
	return section{ledger: l, table: t, name: name, keys: keysOf(head)}
}

// sectionNamed opens a table whose head ends in a name of the plan.
func (l *ledger) sectionNamed(t *table, head, name string) section {
	return l.sectionOf(t, head, strings.Replace(head, "NAME", name, 1), keysOf(head).allowed())
}

// lacks notes that a key the table must have is not there, with what the table of keys says of it.
func (s section) lacks(name string) { s.missing(name, s.keys.key(name).add()) }

// missing notes that a key the table must have is not there.
func (s section) missing(key, do string) {
	at := s.table.at
	if s.table.origin == fromHeader && at == 0 {
		at = wholeFile
	}
	s.add(at, fmt.Sprintf("%s has no %s", s.name, key), do)
}

// sub returns the table under a key, nil when there is none or (a fault) something else.
func (s section) sub(key, form string) *table {
	e := s.table.byKey[key]
	if e == nil {
		return nil
	}
	if e.value.kind != kindTable {
		s.add(e.at, fmt.Sprintf("%s is %s", key, e.value.describe()), "write it as the table "+form)
		return nil
	}
	return e.value.table
}

// subs returns the tables under a key written as [[key]], nil when there are none.
func (s section) subs(key string) []*table {
	e := s.table.byKey[key]
	if e == nil {
		return nil
	}
	var ts []*table
	ok := e.value.kind == kindList
	for _, v := range e.value.items {
		ok = ok && v.kind == kindTable
		ts = append(ts, v.table)
	}
	if !ok || len(ts) == 0 {
		s.add(e.at, fmt.Sprintf("%s is %s", key, e.value.describe()), fmt.Sprintf("write [[%s]] with double brackets, once for each", key))
		return nil
	}
	return ts
}

// text returns the one-line text under a key. found is false when the key is absent; ok is false
// when it is there and faulty, which is then noted.
func (s section) text(key string) (text string, found, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return "", false, true
	}
	v := e.value
	if v.kind != kindText {
		do := "write a text in quotes"
		if v.scalar() {
			do = fmt.Sprintf("put it in quotes: %s = %q", key, v.text)
		}
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), do)
		return "", true, false
	}
	if what, do := lineFault(v.text, 200); what != "" {
		s.add(v.at, key+" "+what, do)
		return "", true, false
	}
	return v.text, true, true
}

// lineFault says what keeps a text from standing on one line of a sheet or a report.
func lineFault(text string, longest int) (what, do string) {
	switch {
	case strings.TrimSpace(text) == "":
		return "is empty", "fill it in, or take it out"
	case strings.TrimSpace(text) != text:
		return fmt.Sprintf("is %q, with blanks at its ends", text), fmt.Sprintf("write %q", strings.TrimSpace(text))
	case strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsGraphic(r) }):
		return fmt.Sprintf("is %q, with characters that cannot be printed", text), "keep it to one line of letters, digits and signs"
	case utf8.RuneCountInString(text) > longest:
		return fmt.Sprintf("has %d characters", utf8.RuneCountInString(text)), fmt.Sprintf("keep it to %d", longest)
	}
	return "", ""
}

// word returns the text under a key when it is one of the words allowed.
func (s section) word(key string) (word string, found, ok bool) {
	return s.wordOf(key, s.keys.key(key).words)
}

// wordOf is word for words that are names of the plan.
func (s section) wordOf(key string, words []string) (word string, found, ok bool) {
	text, found, ok := s.text(key)
	if !found || !ok {
		return "", found, ok
	}
	if !slices.Contains(words, text) {
		s.add(s.table.byKey[key].value.at, fmt.Sprintf("%s is %q", key, text), oneOf(text, words...))
		return "", true, false
	}
	return text, true, true
}

// number returns the finite number under a key.
func (s section) number(key string) (x float64, found, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return 0, false, true
	}
	x, what, do := e.value.number()
	if what != "" {
		s.add(e.value.at, key+" is "+what, do)
		return 0, true, false
	}
	return x, true, true
}

// count returns the whole number under a key when it is at least one and at most MaxRuns.
func (s section) count(key string) (n int, found, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return 0, false, true
	}
	v := e.value
	const do = "write a whole number, 1 or more"
	if v.kind != kindInteger {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), do)
		return 0, true, false
	}
	x, err := strconv.ParseInt(strings.TrimPrefix(v.text, "+"), 0, 64)
	switch {
	case err != nil || x > design.MaxRuns:
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.text), fmt.Sprintf("write a whole number from 1 to %d", design.MaxRuns))
		return 0, true, false
	case x < 1:
		s.add(v.at, fmt.Sprintf("%s is %d", key, x), do)
		return 0, true, false
	}
	return int(x), true, true
}

// truth returns the boolean under a key.
func (s section) truth(key string) (b, found, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return false, false, true
	}
	if e.value.kind != kindBool {
		s.add(e.value.at, fmt.Sprintf("%s is %s", key, e.value.describe()), "write true or false, without quotes")
		return false, true, false
	}
	return e.value.text == "true", true, true
}

// scalar reports whether the value is a single number, boolean or time.
func (v *value) scalar() bool {
	return v.kind == kindInteger || v.kind == kindFloat || v.kind == kindBool || v.kind == kindTime
}

// describe says what a value is, in words.
func (v *value) describe() string {
	switch v.kind {
	case kindText:
		return fmt.Sprintf("the text %q", shorten(v.text))
	case kindInteger, kindFloat:
		return "the number " + v.text
	case kindBool:
		return v.text
	case kindTime:
		return "the time " + v.text
	case kindList:
		if v.tables {
			return "a list of tables"
		}
		return "a list"
	}
	return "a table"
}

// shorten cuts a text that is too long to be repeated in a message.
func shorten(text string) string {
	if utf8.RuneCountInString(text) <= 40 {
		return text
	}
	return string([]rune(text)[:39]) + "…"
}

// number returns the value as a finite number, or what it is instead and what to do.
func (v *value) number() (x float64, what, do string) {
	const write = "write a number"
	switch v.kind {
	case kindInteger, kindFloat:
	case kindText:
		if _, err := strconv.ParseFloat(v.text, 64); err == nil {
			return 0, v.describe(), "write it without quotes"
		}
		return 0, v.describe(), write
	default:
		return 0, v.describe(), write
	}
	plain := strings.ReplaceAll(v.text, "_", "")
	if v.kind == kindInteger {
		if n, err := strconv.ParseInt(strings.TrimPrefix(plain, "+"), 0, 64); err == nil {
			return float64(n), "", ""
		}
	}
	x, err := strconv.ParseFloat(plain, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, v.text, "write a finite number"
	}
	return x, "", ""
}
