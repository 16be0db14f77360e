package plan

import (
	"cmp"
	"errors"
	"fairrun/design"
	"fairrun/design/fault"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Answers is what Starter makes a plan of. Texts are as a person gives them; what is left empty
// gets the plan's default or is left out.
type Answers struct {
	Title, Scope string
	Factors      []FactorAnswer
	Block        design.Block // Name "" is "block"; one of Replicates and Runs
	Drift        design.Drift // Model "" is design.ProposedDrift
	Responses    []ResponseAnswer
	Alpha, Power float64 // 0 is the default
	Compare      string  // "" is the default
}

// FactorAnswer is a factor. Its levels are numbers when every one is written as a number.
type FactorAnswer struct {
	Name, Unit string
	Levels     []string
	Baseline   string // one of Levels, or "" for none
}

// ResponseAnswer is a response. Margin and Noise are "2%", a number in the unit, or "".
type ResponseAnswer struct {
	Name, Unit, Better, Margin, Noise string
}

// Starter returns the commented campaign.toml that a campaign begins with. It parses without fault;
// answers that make no plan are errors, each a *fault.Fault without a place.
//
// Lines that begin with "# " are explanation; those that begin with "#" and no blank are keys that
// take effect when the "#" is taken away.
func Starter(a Answers) ([]byte, error) {
	var w starter
	w.head(a)
	for i, f := range a.Factors {
		w.factor(f, i > 0)
	}
	w.block(a.Block)
	w.drift(a.drift())
	for i, r := range a.Responses {
		w.response(r, i > 0)
	}
	w.analysis(a)
	w.options()
	data := []byte(w.String())
	if _, err := Parse("campaign.toml", data); err != nil {
		var errs []error
		for _, f := range fault.In(err) {
			errs = append(errs, &fault.Fault{Found: f.Found, Do: f.Do})
		}
		return nil, errors.Join(errs...)
	}
	return data, nil
}

// starter writes the lines of a file, with what the table of keys says of them.
type starter struct {
	strings.Builder
	table   tableKeys // that is being written
	again   bool      // another of its kind explains its keys
	written []string  // keys that stand in it
}

// line writes a line and, in one column, what it is for.
func (w *starter) line(text, comment string) {
	if comment != "" && !w.again {
		text = fmt.Sprintf("%-34s # %s", text, comment)
	}
	w.WriteString(text + "\n")
}

// open begins a table; again says that there was one of its kind.
func (w *starter) open(head string, again bool) {
	w.WriteString("\n")
	w.table, w.again, w.written = keysOf(head), again, nil
	w.line(head, w.table.meaning)
}

// key writes "key = value".
func (w *starter) key(name, value string) {
	w.line(name+" = "+value, w.table.key(name).meaning)
	w.written = append(w.written, name)
}

// off writes a key that has no value yet as a line to take the "#" from.
func (w *starter) off(name, value string) {
	w.line("#"+name+" = "+value, w.table.key(name).meaning)
	w.written = append(w.written, name)
}

// rest offers the keys of the table that it does not have, with their examples.
func (w *starter) rest() {
	for _, k := range w.table.offeredKeys(w.written) {
		w.off(k.name, k.example)
	}
}

func (w *starter) notes(lines ...string) {
	for _, line := range lines {
		w.WriteString(strings.TrimSpace("# "+line) + "\n")
	}
}

func (w *starter) head(a Answers) {
	w.notes("The plan of a bench campaign. Change it until it says what you mean, then run",
		`"fairrun sheet" to draw the run order. Change nothing once results are in:`,
		"the verdict shows every edit that was made after the draw.", "")
	w.notes(design.Cautions()...)
	w.WriteString("\n")
	w.table = keysOf(planHead)
	w.key("title", quoted(a.Title))
	w.key("scope", quoted(a.Scope))
	w.notes(`seed: "fairrun sheet" writes it here; ` + w.table.key("seed").meaning)
}

func (w *starter) factor(f FactorAnswer, again bool) {
	w.open("[[factor]]", again)
	numeric := len(f.Levels) > 0
	for _, level := range f.Levels {
		numeric = numeric && decimal.MatchString(level)
	}
	literal := func(level string) string {
		if numeric {
			return level
		}
		return quoted(level)
	}
	var levels []string
	for _, level := range f.Levels {
		levels = append(levels, literal(level))
	}
	w.key("name", quoted(f.Name))
	if f.Unit != "" {
		w.key("unit", quoted(f.Unit))
	}
	w.key("levels", "["+strings.Join(levels, ", ")+"]")
	if f.Baseline != "" {
		w.key("baseline", literal(f.Baseline))
	} else if len(levels) > 0 {
		w.off("baseline", levels[0])
	}
	w.rest()
}

func (w *starter) block(b design.Block) {
	w.open("[block]", false)
	w.key("name", quoted(cmp.Or(b.Name, design.DefaultBlock)))
	if b.Fixed {
		w.key("random", "false")
	}
	w.key("count", strconv.Itoa(b.Count))
	if b.Runs > 0 {
		w.key("runs", strconv.Itoa(b.Runs))
	}
	if b.Replicates > 0 || b.Runs == 0 {
		w.key("replicates", strconv.Itoa(b.Replicates))
	}
	w.rest()
}

// drift is the one answered, or the one proposed; lines of each block are what answers of its own ask for.
func (a Answers) drift() design.Drift {
	d := a.Drift
	if d.Model != "" {
		return d
	}
	treatments := 1
	for _, f := range a.Factors {
		treatments = min(treatments*max(1, len(f.Levels)), design.MaxRuns)
	}
	n := a.Block.Runs
	if n == 0 {
		n = treatments * a.Block.Replicates
	}
	if d.Model = design.ProposedDrift(treatments, a.Block.Count, n); d.Own {
		d.Model = design.DriftLinear
	}
	return d
}

func (w *starter) drift(d design.Drift) {
	w.open("[drift]", false)
	w.key("model", quoted(d.Model))
	w.key("own", strconv.FormatBool(d.Own))
	w.rest()
}

func (w *starter) response(r ResponseAnswer, again bool) {
	w.open("[[response]]", again)
	w.key("name", quoted(r.Name))
	if r.Unit != "" {
		w.key("unit", quoted(r.Unit))
	}
	w.key("better", quoted(r.Better))
	for _, k := range []struct{ key, text string }{{"margin", r.Margin}, {"noise", r.Noise}} {
		switch {
		case k.text == "":
			w.off(k.key, w.table.key(k.key).example)
		case decimal.MatchString(k.text):
			w.key(k.key, k.text)
		default:
			w.key(k.key, quoted(k.text))
		}
	}
	w.rest()
}

func (w *starter) analysis(a Answers) {
	w.open("[analysis]", false)
	w.key("alpha", design.PlainNumber(cmp.Or(a.Alpha, 0.05)))
	w.key("power", design.PlainNumber(cmp.Or(a.Power, 0.9)))
	w.key("compare", quoted(cmp.Or(a.Compare, design.ComparePairs)))
	w.rest()
}

// options shows the tables a plan can do without.
func (w *starter) options() {
	for _, t := range planKeys {
		if t.offered == "" {
			continue
		}
		w.WriteString("\n")
		w.table, w.written = t, nil
		w.line("#"+t.offered, t.meaning)
		w.rest()
	}
}

// decimal matches what TOML takes for a decimal number.
var decimal = regexp.MustCompile(`^[+-]?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?$`)

// quoted returns a text as a TOML basic string.
func quoted(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range strings.ToValidUTF8(text, "�") {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
