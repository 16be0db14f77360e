package plan

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A document is a TOML file as a tree that remembers where everything stands and how numbers were
// written: decoding into Go values would lose that the level 0.50 is not the level 0.5, and would
// stop at the first fault. The grammar is go-toml's; which keys and tables may stand together is
// decided here, by the rules of TOML 1.0, so that a key given twice is one fault among others.

type kind int

const (
	kindText kind = iota
	kindInteger
	kindFloat
	kindBool
	kindTime // dates and times, which no plan holds
	kindList
	kindTable
)

// value is the right-hand side of a key.
type value struct {
	kind  kind
	at    int      // offset of its first byte
	text  string   // a text's content; the bytes of the file for numbers, booleans and times
	items []*value // of a list
	table *table   // of a table
	// tables says that a list was written as [[name]] and may grow.
	tables bool
}

// entry is a key and its value.
type entry struct {
	key   string
	at    int // offset of the key
	end   int // offset past the value of "key = value"; 0 where a header or a dotted key made the entry
	value *value
}

// table is a set of entries in the order of the file.
type table struct {
	at      int // offset of the key that opened it; of the brace of an inline table; 0 for the file itself
	entries []*entry
	byKey   map[string]*entry
	origin  origin
}

// origin is how a table came to be, which decides what may be added to it.
type origin int

const (
	fromHeader origin = iota // [name]
	fromDeeper               // by a header below it: [name.other]
	fromDots                 // by a dotted key: name.other = 1
	fromBraces               // inline: { … }
)

func newTable(at int, o origin) *table {
	return &table{at: at, byKey: map[string]*entry{}, origin: o}
}

func (t *table) put(key string, at int, v *value) *entry {
	e := &entry{key: key, at: at, value: v}
	t.entries = append(t.entries, e)
	t.byKey[key] = e
	return e
}

// parseDocument reads TOML into a tree. Faults go to the ledger; whole is false when the grammar
// broke, so that what follows was not read.
func parseDocument(l *ledger) (root *table, whole bool) {
	d := documentParser{ledger: l}
	d.Reset(l.data)
	root = newTable(0, fromHeader)
	current := root
	for d.NextExpression() {
		n := d.Expression()
		switch n.Kind {
		case unstable.Table:
			current = d.header(root, n, false)
		case unstable.ArrayTable:
			current = d.header(root, n, true)
		case unstable.KeyValue:
			d.keyValue(current, n)
		}
	}
	if err := d.Error(); err != nil {
		d.syntax(err)
		return root, false
	}
	return root, true
}

type documentParser struct {
	unstable.Parser
	ledger *ledger
}

// header finds or makes the table a [header] or, with many, a [[header]] opens. A header that may
// not stand where it does is noted, and the entries under it go into a table of their own.
func (d *documentParser) header(root *table, n *unstable.Node, many bool) *table {
	t := root
	for it := n.Key(); it.Next(); {
		key, at := string(it.Node().Data), int(it.Node().Raw.Offset)
		old := t.byKey[key]
		if !it.IsLast() {
			next := d.descend(t, key, at, fromDeeper)
			if next == nil || next.origin == fromBraces {
				d.twice(key, at, old)
				return newTable(at, fromHeader)
			}
			t = next
			continue
		}
		switch {
		case old == nil && many:
			made := newTable(at, fromHeader)
			t.put(key, at, &value{kind: kindList, at: at, tables: true, items: []*value{{kind: kindTable, at: at, table: made}}})
			return made
		case old == nil:
			made := newTable(at, fromHeader)
			t.put(key, at, &value{kind: kindTable, at: at, table: made})
			return made
		case many && old.value.tables:
			made := newTable(at, fromHeader)
			old.value.items = append(old.value.items, &value{kind: kindTable, at: at, table: made})
			return made
		case !many && old.value.kind == kindTable && old.value.table.origin == fromDeeper:
			old.value.table.origin = fromHeader
			old.value.table.at = at
			return old.value.table
		}
		d.twice(key, at, old)
		return newTable(at, fromHeader)
	}
	return t
}

// descend returns the table a key of t leads to, making it where there is none; nil when the key
// leads to something else. Of tables in a list it is the last.
func (d *documentParser) descend(t *table, key string, at int, o origin) *table {
	old := t.byKey[key]
	if old == nil {
		made := newTable(at, o)
		t.put(key, at, &value{kind: kindTable, at: at, table: made})
		return made
	}
	if old.value.tables {
		return old.value.items[len(old.value.items)-1].table
	}
	return old.value.table
}

// keyValue puts a key, dotted or not, and its value into t.
func (d *documentParser) keyValue(t *table, n *unstable.Node) {
	for it := n.Key(); it.Next(); {
		k := it.Node()
		key, at := string(k.Data), int(k.Raw.Offset)
		old := t.byKey[key]
		if it.IsLast() {
			if old != nil {
				d.twice(key, at, old)
				return
			}
			e := t.put(key, at, d.value(n.Value(), d.afterEquals(at+int(k.Raw.Length))))
			e.end = int(n.Raw.Offset) + int(n.Raw.Length)
			return
		}
		if old != nil && (old.value.kind != kindTable || old.value.table.origin != fromDots) {
			d.twice(key, at, old)
			return
		}
		t = d.descend(t, key, at, fromDots)
	}
}

// afterEquals returns the offset of the value whose key ends at the offset given: the grammar
// keeps no place for lists.
func (d *documentParser) afterEquals(at int) int {
	return len(d.Data()) - len(bytes.TrimLeft(d.Data()[at:], " \t="))
}

// value turns a node into a value that stands at the offset given, unless the node knows better.
func (d *documentParser) value(n *unstable.Node, at int) *value {
	v := &value{at: at}
	if n.Raw.Length > 0 {
		v.at = int(n.Raw.Offset)
	}
	switch n.Kind {
	case unstable.String:
		v.kind, v.text = kindText, string(n.Data)
	case unstable.Integer:
		v.kind, v.text = kindInteger, string(n.Data)
	case unstable.Float:
		v.kind, v.text = kindFloat, string(n.Data)
	case unstable.Bool:
		v.kind, v.text = kindBool, string(n.Data)
	case unstable.Array:
		v.kind = kindList
		for it := n.Children(); it.Next(); {
			v.items = append(v.items, d.value(it.Node(), at))
		}
	case unstable.InlineTable:
		v.kind, v.table = kindTable, newTable(v.at, fromBraces)
		for it := n.Children(); it.Next(); {
			d.keyValue(v.table, it.Node())
		}
	default:
		v.kind, v.text = kindTime, string(d.Raw(n.Raw))
	}
	return v
}

// twice notes a key that stands a second time.
func (d *documentParser) twice(key string, at int, old *entry) {
	do := "keep one of them"
	if old.value.kind == kindTable && !old.value.tables && d.opensMany(at) {
		do = fmt.Sprintf("write [[%s]] there too", key)
	} else if old.value.tables {
		do = fmt.Sprintf("write [[%s]] for each", key)
	}
	d.ledger.add(at, fmt.Sprintf("%q already stands at line %d", key, d.ledger.line(old.at)), do)
}

// opensMany reports whether the key at an offset is that of a [[header]].
func (d *documentParser) opensMany(at int) bool {
	before := strings.TrimRight(string(d.Data()[max(0, at-8):at]), " \t")
	return strings.HasSuffix(before, "[[")
}

// syntax notes where the grammar broke, with a hint for the slips people make.
func (d *documentParser) syntax(err error) {
	at, found := wholeFile, byte(0)
	if pe := (*unstable.ParserError)(nil); errors.As(err, &pe) {
		at = int(d.Range(pe.Highlight).Offset)
		if len(pe.Highlight) > 0 {
			found = pe.Highlight[0]
		}
	}
	message := err.Error()
	do := "mend the line; what follows it was not read"
	switch {
	case found == '%':
		do = `put a percentage in quotes: "2%"`
	case found == ',' && strings.HasPrefix(message, "expected newline"):
		do = "write decimals with a point, and one key a line"
	case strings.Contains(message, "at start of value"), strings.HasPrefix(message, "expected newline") && isLetter(found):
		do = `put text in straight quotes: "…"`
	}
	if found >= utf8.RuneSelf {
		// The grammar names the first byte where a character of several begins, such as a curly quote.
		r, _ := utf8.DecodeRune(d.Data()[at:])
		message = strings.ReplaceAll(message, fmt.Sprintf("%#U", rune(found)), fmt.Sprintf("%#U", r))
	}
	d.ledger.add(at, "not TOML: "+message, do)
}

func isLetter(c byte) bool { return 'a' <= c|0x20 && c|0x20 <= 'z' || c >= 0x80 }
