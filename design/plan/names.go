package plan

import (
	"fairrun/design"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// reserved are the columns of run sheets, the first ones and the last of every sheet; nothing else
// may be called like one.
var reserved = []string{"run", "block", "position", "role", "whole_plot", "status", "log", "done_at", "note"}

// longestName bounds a name, which heads a column.
const longestName = 40

// names remembers what is called how, so that each name heads one column only.
type names map[string]nameUse

type nameUse struct {
	what string // "factor", "response", …
	line int    // 0 for the columns every sheet has
}

func newNames() names {
	n := names{}
	for _, r := range reserved {
		n[r] = nameUse{what: "column of every sheet"}
	}
	for _, c := range design.StartReadings() {
		n[c.Name] = nameUse{what: "reading of every sheet"}
	}
	return n
}

// columnName returns the name under a key of a table that must have one. Names that cannot head a
// column, and names that are taken, are faults.
func (s section) columnName(n names, what string) (name string, ok bool) {
	text, found, ok := s.text("name")
	if !found {
		s.lacks("name")
	}
	if !found || !ok {
		return "", false
	}
	return text, s.claim(n, text, what, s.table.byKey["name"].value.at)
}

// columnNameOr returns the name under a key of a table that may go without, and then has a usual one.
// Faults are those of columnName, at the table where the usual name is the one that is taken.
func (s section) columnNameOr(n names, usual, what string) (name string, ok bool) {
	text, found, ok := s.text("name")
	at := s.table.at
	if found {
		at = s.table.byKey["name"].value.at
	} else {
		text = usual
	}
	return text, ok && s.claim(n, text, what, at)
}

// claim notes that a name is used at an offset, or the fault that it may not be.
func (l *ledger) claim(n names, name, what string, at int) bool {
	if !columnWord(name) {
		l.add(at, fmt.Sprintf("%q cannot head a column", shorten(name)), suggestColumn(name))
		return false
	}
	if utf8.RuneCountInString(name) > longestName {
		l.add(at, fmt.Sprintf("the name %q has %d characters", shorten(name), utf8.RuneCountInString(name)), fmt.Sprintf("keep it to %d", longestName))
		return false
	}
	folded := strings.ToLower(name)
	if use, taken := n[folded]; taken {
		where := "a " + use.what
		if use.line > 0 {
			where = fmt.Sprintf("the %s at line %d", use.what, use.line)
		}
		l.add(at, fmt.Sprintf("the %s %q has the name of %s", what, name, where), "choose another name: each heads its own column, and capitals do not tell them apart")
		return false
	}
	n[folded] = nameUse{what: what, line: l.line(at)}
	return true
}

// columnWord reports whether a name is a letter followed by letters, digits, marks, "_", "-" and
// ".": what a spreadsheet, a command line and "record RUN name=value" all take as it stands.
func columnWord(name string) bool {
	for i, r := range name {
		switch {
		case unicode.IsLetter(r):
		case i > 0 && (unicode.IsDigit(r) || unicode.IsMark(r) || r == '_' || r == '-' || r == '.'):
		default:
			return false
		}
	}
	return name != ""
}

// suggestColumn advises how to write a name.
func suggestColumn(name string) string {
	words := strings.FieldsFunc(name, func(r rune) bool { return r != '.' && r != '-' && !columnWord("a"+string(r)) })
	word := strings.TrimLeftFunc(strings.Join(words, "_"), func(r rune) bool { return !unicode.IsLetter(r) })
	const rule = "use letters, digits and _, a letter first"
	if columnWord(word) && utf8.RuneCountInString(word) <= longestName {
		return fmt.Sprintf("%s, such as %q", rule, word)
	}
	return rule
}
