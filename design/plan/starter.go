package plan

import (
	"errors"
	"fairrun/design"
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
	Drift        design.Drift // Model "" is linear, shared by the blocks
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
// answers that make no plan are errors, each a *Fault without a place.
//
// Lines that begin with "# " are explanation; those that begin with "#" and no blank are keys that
// take effect when the "#" is taken away.
func Starter(a Answers) ([]byte, error) {
	var w starter
	w.head(a)
	for i, f := range a.Factors {
		w.factor(f, i == 0)
	}
	w.block(a.Block)
	w.drift(a.Drift)
	for i, r := range a.Responses {
		w.response(r, i == 0)
	}
	w.analysis(a)
	w.options()
	data := []byte(w.String())
	if _, err := Parse("campaign.toml", data); err != nil {
		var errs []error
		for _, f := range Faults(err) {
			errs = append(errs, &Fault{What: f.What, Do: f.Do})
		}
		return nil, errors.Join(errs...)
	}
	return data, nil
}

// starter writes the lines of a plan.
type starter struct{ strings.Builder }

// key writes "key = value" and, in one column, what the key is for.
func (w *starter) key(key, value, comment string) {
	line := key + " = " + value
	if comment != "" {
		line = fmt.Sprintf("%-34s # %s", line, comment)
	}
	w.WriteString(line + "\n")
}

// off writes a key that has no value yet as a line to take the "#" from.
func (w *starter) off(key, value, comment string) { w.key("#"+key, value, comment) }

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
	w.key("title", quoted(a.Title), "")
	w.key("scope", quoted(a.Scope), "what is tested: verdicts speak of this and no more")
	w.notes(`seed: "fairrun sheet" writes it here; the same seed draws the same order again`)
}

func (w *starter) factor(f FactorAnswer, first bool) {
	w.WriteString("\n[[factor]]")
	note := func(s string) string {
		if first {
			return s
		}
		return ""
	}
	if first {
		w.WriteString("                         # what you set on purpose, one [[factor]] each")
	}
	w.WriteString("\n")
	numeric := len(f.Levels) > 0
	for _, level := range f.Levels {
		numeric = numeric && number.MatchString(level)
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
	w.key("name", quoted(f.Name), note("its column in the run sheet"))
	if f.Unit != "" {
		w.key("unit", quoted(f.Unit), "")
	}
	w.key("levels", "["+strings.Join(levels, ", ")+"]", note("numbers are ordered; names stand in quotes"))
	if f.Baseline != "" {
		w.key("baseline", literal(f.Baseline), note("the setting that the others are compared with"))
	} else if len(levels) > 0 {
		w.off("baseline", levels[0], note("the setting that the others are compared with, if there is one"))
	}
	if first {
		w.off("hard_to_change", "false", "true: takes long to change; its runs stay together, as whole plots")
	}
}

func (w *starter) block(b design.Block) {
	w.WriteString("\n[block]                            # what cannot last for all runs; settings are compared within it\n")
	name := b.Name
	if name == "" {
		name = design.DefaultBlock
	}
	w.key("name", quoted(name), "a pack charge, a session, a day")
	w.key("count", strconv.Itoa(b.Count), "how many there are")
	if b.Runs > 0 {
		w.key("runs", strconv.Itoa(b.Runs), "runs that one lasts, fewer than there are treatments")
	}
	if b.Replicates > 0 || b.Runs == 0 {
		w.key("replicates", strconv.Itoa(b.Replicates), "runs of each treatment in each one")
	}
}

func (w *starter) drift(d design.Drift) {
	model := d.Model
	if model == "" {
		model = design.DriftLinear
	}
	w.WriteString("\n[drift]                            # what heat and sag do over the runs of a block\n")
	w.key("model", quoted(model), "none, linear, quadratic, or position (any shape)")
	w.key("own", strconv.FormatBool(d.Own), "true: each block drifts at its own rate")
}

func (w *starter) response(r ResponseAnswer, first bool) {
	w.WriteString("\n[[response]]")
	note := func(s string) string {
		if first {
			return s
		}
		return ""
	}
	if first {
		w.WriteString("                       # what you measure, one number a run; one [[response]] each")
	}
	w.WriteString("\n")
	w.key("name", quoted(r.Name), note("its column in the run sheet"))
	if r.Unit != "" {
		w.key("unit", quoted(r.Unit), "")
	}
	w.key("better", quoted(r.Better), note("lower or higher, settled before there are results"))
	for _, k := range []struct{ key, text, comment string }{
		{"margin", r.Margin, note("smallest difference that would change a decision")},
		{"noise", r.Noise, note("run-to-run standard deviation you expect; a guess will do")},
	} {
		switch {
		case k.text == "":
			w.off(k.key, `"2%"`, k.comment)
		case number.MatchString(k.text):
			w.key(k.key, k.text, k.comment)
		default:
			w.key(k.key, quoted(k.text), k.comment)
		}
	}
}

func (w *starter) analysis(a Answers) {
	alpha, power, compare := a.Alpha, a.Power, a.Compare
	if alpha == 0 {
		alpha = 0.05
	}
	if power == 0 {
		power = 0.9
	}
	if compare == "" {
		compare = design.ComparePairs
	}
	w.WriteString("\n[analysis]\n")
	w.key("alpha", design.PlainNumber(alpha), "chance of a false alarm in the whole table")
	w.key("power", design.PlainNumber(power), "chance to find a difference of the margin")
	w.key("compare", quoted(compare), "pairs: all with all; baseline: all with it; best: all with the best")
	w.off("looks", "2", "times you judge, the end included; more blocks for the same power")
	w.off("spending", quoted(string(design.SpendingOBrienFleming)), "how looks share alpha: obrien-fleming (late) or pocock (evenly)")
	w.off("covariates", `["start_temp"]`, "what is noted before a run and adjusted for")
}

// options shows the tables a plan can do without.
func (w *starter) options() {
	w.WriteString("\n")
	w.notes("Several specimens of one type, so that the verdict holds for the type: each block belongs to one of them.")
	w.WriteString("#[specimens]\n")
	w.off("name", `"motor"`, "")
	w.off("count", "2", "")
	w.WriteString("\n")
	w.notes("The bench, and the file that keeps what it was measured to scatter: \"fairrun verdict --save-noise\" adds to it,",
		"and the next plan whose responses state no noise starts from it.")
	w.WriteString("#[rig]\n")
	w.off("name", `"tank 2"`, "")
	w.off("noise_file", `"../noise.toml"`, "seen from this folder")
	w.WriteString("\n")
	w.notes("Limits for what is noted before each run: entering a value outside them warns.")
	w.WriteString("#[readings.start_temp]\n")
	w.off("high", "45", "")
	w.WriteString("\n")
	w.notes("More of the order. Warm-up and reference runs are runs of the baseline.")
	w.WriteString("#[order]\n")
	w.off("warmup", "1", "runs at the start of each block that are not analysed")
	w.off("reference", "[2]", "positions in each block, counted from 1")
	w.off("carry_over", "true", "each treatment follows each other about equally often")
	w.WriteString("\n")
	w.notes("What one block can spend and what a run takes: \"fairrun sheet\" adds up packs and hours.")
	w.WriteString("#[budget]\n")
	w.off("capacity", `"5 Ah"`, "of a full pack; leave it out on a bench supply")
	w.off("usable", `"80%"`, "share of it that the maker's floor voltage leaves you")
	w.off("load", `"10 A"`, "mean of a run")
	w.off("run", `"40 s"`, "")
	w.off("rest", `"3 min"`, "between runs")
	w.off("rest_until", `"35 °C"`, "start_temp to cool down to; rest is then about how long it takes")
	w.off("swap", `"8 min"`, "from one block to the next")
}

// number matches what TOML takes for a decimal number.
var number = regexp.MustCompile(`^[+-]?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?$`)

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
