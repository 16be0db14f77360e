package plan

import (
	"fairrun/design/fault"

	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const (
	filesDocument = "../../docs/files.md"
	tablesBegin   = "<!-- keys of the plan: written by UPDATE_DOCS=1 go test ./design/plan -->\n"
	tablesEnd     = "<!-- end of the keys -->\n"
)

// docs/files.md holds the table of keys as it stands in the code; UPDATE_DOCS=1 writes it there.
func TestFilesDocument(t *testing.T) {
	data, err := os.ReadFile(filesDocument)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, begins := strings.Cut(string(data), tablesBegin)
	old, after, ends := strings.Cut(rest, tablesEnd)
	if !begins || !ends {
		t.Fatalf("%s has no place for the table of keys", filesDocument)
	}
	if os.Getenv("UPDATE_DOCS") != "" {
		if err := os.WriteFile(filesDocument, []byte(before+tablesBegin+"\n"+markdown()+tablesEnd+after), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff("\n"+markdown(), old); diff != "" {
		t.Errorf("%s is behind the table of keys; UPDATE_DOCS=1 go test ./design/plan writes it (-want +got):\n%s", filesDocument, diff)
	}
}

// wants says in words what may be written, in Markdown.
func (k key) wants() string {
	switch k.form {
	case word:
		return "`" + strings.Join(k.words, "`, `") + "`"
	case bounded, temperature:
		return fmt.Sprintf("number from %v to %v", k.least, k.most)
	case portion:
		return fmt.Sprintf("percentage from 0 to %v", 100*k.most)
	case span:
		return fmt.Sprintf("time up to %v h", k.most)
	case truth:
		return "`true`, `false`"
	case quantity:
		return string(number)
	}
	return string(k.form)
}

// literal reports whether the default is a value as it would be written, not words about it.
func (k key) literal() bool {
	return k.fallback == "true" || k.fallback == "false" || (strings.HasPrefix(k.fallback, `"`) && strings.HasSuffix(k.fallback, `"`)) || decimal.MatchString(k.fallback)
}

// markdown returns the table of all keys of a plan as docs/files.md has it: a heading and a table of
// keys for each table of the plan.
func markdown() string {
	var b strings.Builder
	for _, t := range planKeys {
		head := "`" + t.head + "`"
		if t.head == planHead {
			head = "At the top"
		}
		fmt.Fprintf(&b, "### %s\n\n%s%s.\n\n| key | type | unit | default | meaning | example |\n|---|---|---|---|---|---|\n", head, strings.ToUpper(t.meaning[:1]), t.meaning[1:])
		for _, k := range t.keys {
			fallback := k.fallback
			switch {
			case k.required:
				fallback = "required"
			case k.literal():
				fallback = "`" + fallback + "`"
			}
			fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s | `%s` |\n", k.name, k.wants(), strings.Join(k.units(), ", "), fallback, k.meaning, k.example)
		}
		b.WriteString("\n")
	}
	return b.String()
}

// Each line of the table of keys is whole, and each table is named in the one that holds it.
func TestKeys(t *testing.T) {
	for _, table := range planKeys {
		path := strings.Split(strings.Trim(table.head, "[]"), ".")
		holder, name := planHead, path[0]
		if len(path) > 1 && path[1] != "NAME" {
			holder, name = "["+path[0]+"]", path[1]
		}
		if path[0] == "response" && len(path) > 1 {
			holder = "[[response]]"
		}
		if table.head != planHead && !strings.Contains(strings.Join(keysOf(holder).tables, " "), name) {
			t.Errorf("%s holds no table %s", holder, name)
		}
		seen := map[string]bool{}
		for _, k := range table.keys {
			at := table.head + " " + k.name
			if seen[k.name] {
				t.Errorf("%s stands twice", at)
			}
			seen[k.name] = true
			if k.form == "" || k.meaning == "" || k.example == "" || k.required == (k.fallback != "") {
				t.Errorf("%s: form %q, meaning %q, example %q, required %v, default %q: one is missing or too much", at, k.form, k.meaning, k.example, k.required, k.fallback)
			}
			if (k.form == word) != (k.words != nil) || (k.form == bounded || k.form == portion || k.form == temperature || k.form == span) != (k.most > k.least) {
				t.Errorf("%s is a %s with the words %q and limits %v to %v", at, k.form, k.words, k.least, k.most)
			}
			if k.offered && table.offered == "" && table.head != "[[factor]]" && table.head != "[[response]]" && table.head != "[analysis]" && table.head != "[block]" {
				t.Errorf("%s is offered in a table that Starter does not write", at)
			}
			if n := len([]rune(k.meaning)); n > 80 {
				t.Errorf("%s: %d characters of meaning, too many for a line", at, n)
			}
		}
	}
}

// keyedPlan has every table of a plan, with what a table needs; a line more may be put into one.
func keyedPlan(head, line string) []byte {
	plan := []struct{ head, lines string }{
		{planHead, "title = \"a\"\nscope = \"b\"\n"},
		{"[[factor]]", "name = \"FACTOR\"\nlevels = [0, 4, 8]\nbaseline = 0\n"},
		{"[[factor]]2", "name = \"prop\"\nlevels = [\"A\", \"B\"]\nbaseline = \"A\"\n"},
		{"[[factor]]3", "name = \"nozzle\"\nlevels = [\"short\", \"long\"]\nbaseline = \"short\"\n"},
		{"[block]", "count = 8\nreplicates = 1\n"},
		{"[session]", "blocks = 4\n"},
		{"[items]", "labels = [\"P1\", \"P2\"]\n"},
		{"[specimens]", "count = 2\n"},
		{"[drift]", ""},
		{"[order]", ""},
		{"[[response]]", "name = \"NAME\"\nbetter = \"lower\"\nmargin = \"3%\"\nunit = \"s\"\n"},
		{"[response.measure]", "what = \"transition\"\nof = \"rpm\"\nfrom = \"10%\"\nto = \"90%\"\n"},
		{"[log]", ""},
		{"[log.time]", "header = \"t\"\n"},
		{"[log.columns.NAME]", "header = \"Speed\"\nunit = \"rpm\"\n"},
		{"[log.columns.throttle]", "header = \"Command\"\nunit = \"%\"\n"},
		{"[log.columns.volts]", "header = \"U\"\nunit = \"V\"\n"},
		{"[log.columns.amps]", "header = \"I\"\nunit = \"A\"\n"},
		{"[[signal]]", "name = \"power\"\nunit = \"W\"\nformula = \"volts * amps\"\n"},
		{"[readings.NAME]", ""},
		{"[analysis]", ""},
		{"[rig]", "noise_file = \"x.toml\"\n"},
		{"[budget]", "run = \"40 s\"\ncapacity = \"50 Ah\"\nload = \"10 A\"\n"},
		{"[budget.changeover]", ""},
		{"[simulation]", ""},
		{"[simulation.current]", ""},
		{"[simulation.response.NAME]", ""},
	}
	key, _, _ := strings.Cut(line, " = ")
	var b strings.Builder
	for _, t := range plan {
		name := strings.NewReplacer("2", "", "3", "", "readings.NAME", "readings.mood", "columns.NAME", "columns.rpm").Replace(t.head)
		if t.head != planHead {
			b.WriteString(name + "\n")
		}
		for _, l := range strings.SplitAfter(t.lines, "\n") {
			if t.head != head || !strings.HasPrefix(l, key+" = ") {
				b.WriteString(l)
			}
		}
		if t.head == head {
			b.WriteString(line + "\n")
		}
	}
	return []byte(b.String())
}

// Every example is what its key wants, and every default that can be written is what is taken without.
func TestExamplesAndDefaults(t *testing.T) {
	for _, table := range planKeys {
		for _, k := range table.keys {
			t.Run(table.head+" "+k.name, func(t *testing.T) {
				_, err := Parse("x", keyedPlan(table.head, k.name+" = "+strings.ReplaceAll(k.example, ", …", "")))
				for _, f := range fault.In(err) {
					if strings.HasPrefix(f.Found, k.name+" is ") || strings.HasPrefix(f.Found, k.name+" holds ") || strings.HasPrefix(f.Found, fmt.Sprintf("unknown key %q", k.name)) {
						t.Errorf("example %s: %v", k.example, f)
					}
				}
				if !k.literal() {
					return
				}
				with, err := Parse("x", keyedPlan(table.head, k.name+" = "+k.fallback))
				without, err2 := Parse("x", keyedPlan(table.head, ""))
				if err := errors.Join(err, err2); err != nil {
					t.Fatal(err)
				}
				if a, b := fmt.Sprintf("%s %+v %+v", with.Canonical(), with.Rig, with.Simulation), fmt.Sprintf("%s %+v %+v", without.Canonical(), without.Rig, without.Simulation); a != b {
					t.Errorf("with %s = %s\n%s\nwithout\n%s", k.name, k.fallback, a, b)
				}
			})
		}
	}
}
