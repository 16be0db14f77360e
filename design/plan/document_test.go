package plan

import (
	"encoding/json"
	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/design/fault"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
)

// documents are the corners of TOML's rules on what may stand twice and what may be added to what.
var documents = []string{
	"a = 1\na = 2\n",
	"a = 1\n\"a\" = 2\n",
	"a.b = 1\na.c = 2\n",
	"a.b = 1\na.b = 2\n",
	"a.b = 1\na.b.c = 2\n",
	"a = 1\na.b = 2\n",
	"a = {b = 1}\na.c = 2\n",
	"a = {b = 1, b = 2}\n",
	"a = {b.c = 1, b.d = 2}\n",
	"a = {b.c = 1, b = 2}\n",
	"a = {b = {c = 1}, b.d = 2}\n",
	"[a]\n[a]\n",
	"[a]\nb = 1\n[a.b]\n",
	"[a.b]\n[a]\nc = 1\n",
	"[a.b]\n[a]\n[a]\n",
	"[a.b]\n[a]\nb.c = 1\n",
	"[a]\nb.c = 1\n[a.b]\n",
	"[a]\nb.c = 1\n[a.b.d]\n",
	"[a]\nb.c = 1\n[a.b.c]\n",
	"[a]\nb.c = 1\n[a]\n",
	"a.b = 1\n[a]\n",
	"a = {b = 1}\n[a]\n",
	"a = 1\n[a.b]\nc = 1\n",
	"a = 1\n[[a.b]]\nc = 1\n",
	"a = [1]\n[a.b]\n",
	"a = {b = 1}\n[a.c]\n",
	"a = {}\n[[a]]\n",
	"[[a]]\n[[a]]\nb = 1\n",
	"[[a]]\n[a]\n",
	"[a]\n[[a]]\n",
	"a = []\n[[a]]\n",
	"a = [{b = 1}]\n[[a]]\n",
	"a = [{b = 1}]\n[a.c]\n",
	"[[a]]\n[a.b]\n[[a]]\n[a.b]\n",
	"[[a]]\n[a.b]\n[a.b]\n",
	"[[a.b]]\n[a]\n[[a.b]]\n",
	"[[a.b]]\n[[a]]\n",
	"[[a]]\n[[a.b]]\n[a.b.c]\nd = 1\n",
	"a = [1, [2, {b = 3}], \"x\"]\n",
	"a = [[[]]]\n",
	"a = {\n}\n",
	"a = 1979-05-27T07:32:00Z\n",
	"a = \"\"\"x\ny\"\"\"\n",
	"= 1\n", "a\n", "a =\n", "a = [1\n", "[a\n", "[[a]\n", "a = 'x\n", "a = \"\\q\"\n", "[]\n", "a = 1 b = 2\n", "\r", "a = 0x\n",
}

// agree compares what stands in a document by this package's rules with what go-toml makes of it.
func agree(t *testing.T, data []byte) {
	l, _, err := open("x.toml", data)
	if err != nil {
		return // no text, or too much of it
	}
	root, whole := parseDocument(l)
	mine := l.err()
	if !whole && mine == nil {
		t.Fatalf("%q: broke off without a fault", data)
	}
	var tree map[string]any
	theirs := toml.Unmarshal(l.data, &tree)
	if theirs != nil && mine == nil && !ofValues(theirs) {
		t.Fatalf("%q: taken, but go-toml says %v", data, theirs)
	}
	if theirs == nil && mine != nil {
		t.Fatalf("%q: go-toml takes it, but %v", data, mine)
	}
	if theirs == nil {
		same(t, data, root, tree)
	}
}

// ofValues reports whether an error is about a date or a number, which the document leaves to those
// who read it.
func ofValues(err error) bool {
	for _, word := range []string{"date", "time", "number", "integer", "float", "range", "month", "day", "offset", "second", "hour", "minute", "year", "underscore", "leading", "digit"} {
		if strings.Contains(err.Error(), word) {
			return true
		}
	}
	return false
}

// same compares the keys of a table, and texts, with go-toml's.
func same(t *testing.T, data []byte, root *table, tree map[string]any) {
	if len(root.entries) != len(tree) || len(root.byKey) != len(tree) {
		t.Fatalf("%q: %d keys, go-toml has %d", data, len(root.entries), len(tree))
	}
	for _, e := range root.entries {
		other, there := tree[e.key]
		if !there {
			t.Fatalf("%q: no key %q", data, e.key)
		}
		sameValue(t, data, e.value, other)
	}
}

func sameValue(t *testing.T, data []byte, v *value, other any) {
	switch o := other.(type) {
	case map[string]any:
		if v.kind != kindTable {
			t.Fatalf("%q: %s, go-toml has a table", data, v.describe())
		}
		same(t, data, v.table, o)
	case []any:
		if v.kind != kindList || len(v.items) != len(o) {
			t.Fatalf("%q: %s of %d, go-toml has a list of %d", data, v.describe(), len(v.items), len(o))
		}
		for i := range o {
			sameValue(t, data, v.items[i], o[i])
		}
	case string:
		if v.kind != kindText || v.text != o {
			t.Fatalf("%q: %s, go-toml has the text %q", data, v.describe(), o)
		}
	case int64:
		if x, what, _ := v.number(); v.kind != kindInteger || what != "" || x != float64(o) {
			t.Fatalf("%q: %s, go-toml has %d", data, v.describe(), o)
		}
	case bool:
		if v.kind != kindBool || (v.text == "true") != o {
			t.Fatalf("%q: %s, go-toml has %v", data, v.describe(), o)
		}
	}
}

func TestDocument(t *testing.T) {
	for _, data := range documents {
		agree(t, []byte(data))
	}
}

// Where values of every kind stand, by their offset from the mark before each.
func TestDocumentPlaces(t *testing.T) {
	marked := "a = §\"é\"\nb= §[§1, §{c = §2}, §'x']\nd.e   =\t§{ f = §true }\n[g]\nh = §1979-05-27\ni = §[\n §[ §7 ] ]\n"
	var want []int
	data := ""
	for i, piece := range strings.Split(marked, "§") {
		if i > 0 {
			want = append(want, len(data))
		}
		data += piece
	}
	l := newLedger("x.toml", []byte(data))
	root, _ := parseDocument(l)
	if err := l.err(); err != nil {
		t.Fatal(err)
	}
	var got []int
	var walk func(v *value)
	table := func(t *table) {
		for _, e := range t.entries {
			walk(e.value)
		}
	}
	walk = func(v *value) {
		got = append(got, v.at)
		for _, item := range v.items {
			walk(item)
		}
		if v.table != nil {
			table(v.table)
		}
	}
	table(root)
	// A dotted key and a header make tables that stand where their key does: d and g.
	at := func(s string) int { return strings.Index(data, s) }
	want = append(want, at("d.e"), at("g]"))
	// The grammar keeps no place for a list inside a list: it stands where the outer one does.
	inner := at("[ 7")
	for i, w := range want {
		if w == inner {
			want[i] = at("[\n")
		}
	}
	count := map[int]int{}
	for _, w := range want {
		count[w]++
	}
	for _, g := range got {
		count[g]--
	}
	for at, n := range count {
		if n != 0 {
			t.Errorf("offset %d (%.10q): %d places more or less than wanted", at, data[at:], n)
		}
	}
}

func FuzzDocument(f *testing.F) {
	for _, data := range documents {
		f.Add([]byte(data))
	}
	seed(f)
	f.Fuzz(agree)
}

// seed adds the plans of testdata to a corpus.
func seed(f *testing.F) {
	files, err := filepath.Glob(filepath.Join("testdata", "*.toml"))
	if err != nil || len(files) == 0 {
		f.Fatalf("no plan in testdata (%v)", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
}

// Whatever is read, nothing panics; a plan without fault keeps its meaning when it is read again,
// when its seed is written, and as its canonical form.
func FuzzParse(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Parse("x.toml", data)
		if (c == nil) == (err == nil) {
			t.Fatalf("Parse = %v, %v", c, err)
		}
		if err != nil {
			for _, fault := range fault.In(err) {
				if fault.Found == "" || fault.Do == "" || strings.ContainsAny(fault.Error(), "\r\n") || (fault.Line == 0) != (fault.Column == 0) {
					t.Fatalf("fault %+v", fault)
				}
			}
			return
		}
		if got := len(c.Treatments()); got != c.CountTreatments() || c.Runs() > design.MaxRuns || c.Freedom().Residual < 1 {
			t.Fatalf("%d treatments, %d runs, %+v", got, c.Runs(), c.Freedom())
		}
		if cost := cost.Of(c); cost.Time < 0 {
			t.Fatalf("cost %+v", cost)
		}
		form := c.Canonical()
		changes, err := design.Differences(form, form)
		if err != nil || changes != nil {
			t.Fatalf("Differences from itself = %q, %v", changes, err)
		}
		var again design.Plan
		if err := json.Unmarshal(form, &again); err != nil || string(again.Canonical()) != string(form) {
			t.Fatalf("the form changes when it is read: %v\n%s", err, form)
		}
		seeded, err := SetSeed("x.toml", data, 12345)
		if err != nil {
			t.Fatal(err)
		}
		d, err := Parse("x.toml", seeded)
		if err != nil || d.Seed == nil || *d.Seed != 12345 || d.Hash() != c.Hash() {
			t.Fatalf("with a seed: %v\n%s", err, seeded)
		}
		if c.Seed == nil && len(seeded) != len(data)+len("seed = 12345\n") && len(seeded) != len(data)+len("seed = 12345\r\n") {
			t.Fatalf("the seed changed %q\nto %q", data, seeded)
		}
	})
}
