package plan_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"fairrun/design/fault"
	"fairrun/design/plan"

	"github.com/google/go-cmp/cmp"
)

// The parts of a plan without fault; a case replaces some of them. The § of a case stand before
// each place a fault must point to, in the order of the file.
var sound = map[string]string{
	"head": `title = "Weakening"
scope = "pod thruster no. 3"
`,
	"factor": `[[factor]]
name = "weakening"
levels = [0, 4, 8]
`,
	"block": `[block]
name = "pack"
count = 2
replicates = 2
`,
	"response": `[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
`,
	"rest": "",
}

// assemble returns the plan of a case with its marks taken out, and the places they stood at.
func assemble(parts map[string]string) (text string, places [][2]int) {
	var whole strings.Builder
	for _, name := range []string{"head", "factor", "block", "response", "rest"} {
		part, replaced := parts[name]
		if !replaced {
			part = sound[name]
		}
		whole.WriteString(part)
	}
	var clean strings.Builder
	for i, line := range strings.SplitAfter(whole.String(), "\n") {
		pieces := strings.Split(line, "§")
		column := 1
		for j, piece := range pieces {
			if j > 0 {
				places = append(places, [2]int{i + 1, column})
			}
			clean.WriteString(piece)
			column += utf8.RuneCountInString(piece)
		}
	}
	return clean.String(), places
}

type faultCase struct {
	name  string
	parts map[string]string
	want  []string // messages without their places; those of the whole file, last, begin with "file: "
}

var faultCases = []faultCase{
	// The file.
	{"no plan at all", map[string]string{"head": "# nothing\n", "factor": "", "block": "", "response": ""}, []string{
		`file: the plan has no title; add title = "…": what the campaign is about`,
		`file: the plan has no scope; add scope = "pod thruster no. 3": what is tested: verdicts speak of this and no more`,
		`file: the plan has no [[factor]]; add at least one, with name and levels: what is set on purpose`,
		`file: the plan has no [[response]]; add at least one, with name and better: what is measured`,
		`file: the plan has no [block]; add it, with count and replicates: how many packs or sessions, and how often each treatment is run in one`}},

	// Syntax.
	{"percentage without quotes", map[string]string{"rest": "margin = 2§%\n"}, []string{
		`not TOML: expected newline but got U+0025 '%'; put a percentage in quotes: "2%"`}},
	{"decimal comma", map[string]string{"rest": "noise = 1§,5\n"}, []string{
		`not TOML: expected newline but got U+002C ','; write decimals with a point, and one key a line`}},
	{"text without quotes", map[string]string{"rest": "scale = §raw\n"}, []string{
		`not TOML: unexpected character U+0072 'r' at start of value; put text in straight quotes: "…"`}},
	{"curly quotes", map[string]string{"rest": "scale = §“raw”\n"}, []string{
		`not TOML: unexpected character U+201C '“' at start of value; put text in straight quotes: "…"`}},
	{"brackets left open", map[string]string{"rest": "[analysi§s"}, []string{
		`not TOML: expected ']' to close table name; mend the line; what follows it was not read`}},

	// Keys and tables.
	{"misspelt key", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 2\n§repliactes = 2\nreplicates = 2\n"}, []string{
		`unknown key "repliactes" in [block]; did you mean "replicates"? allowed: name, plural, random, count, replicates, runs`}},
	{"unknown table", map[string]string{"rest": "[§forecast]\nheat = 1\n"}, []string{
		`unknown key "forecast" in the plan; allowed: title, scope, seed, treatments, interactions, factor, block, session, items, specimens, drift, order, response, log, signal, readings, analysis, rig, budget, simulation`}},
	{"unknown table below a response", map[string]string{"rest": "[response.§gauge]\nkind = \"rise\"\n"}, []string{
		`unknown key "gauge" in [[response]]; allowed: name, unit, better, margin, noise, scale, measure`}},
	{"key twice", map[string]string{"head": "title = \"a\"\n§title = \"b\"\nscope = \"c\"\n"}, []string{
		`"title" already stands at line 1; keep one of them`}},
	{"table twice", map[string]string{"rest": "[§block]\ncount = 3\n"}, []string{
		`"block" already stands at line 6; keep one of them`}},
	{"one bracket where the first had two", map[string]string{"rest": "[§factor]\nname = \"prop\"\n"}, []string{
		`"factor" already stands at line 3; write [[factor]] for each`}},
	{"two brackets where the first had one", map[string]string{"factor": "[§factor]\nname = \"weakening\"\nlevels = [0, 4]\n[[§factor]]\nname = \"prop\"\nlevels = [1, 2]\n"}, []string{
		`factor is a table; write [[factor]] with double brackets, once for each`,
		`"factor" already stands at line 3; write [[factor]] there too`}},
	{"single brackets", map[string]string{"response": "[§response]\nname = \"spin_up\"\nbetter = \"lower\"\n"}, []string{
		`response is a table; write [[response]] with double brackets, once for each`}},
	{"double brackets", map[string]string{"block": "[[§block]]\ncount = 2\nreplicates = 2\n"}, []string{
		`block is a list of tables; write it as the table [block]`}},

	// Title, scope, seed.
	{"headlines of other types", map[string]string{"head": "title = §4\nscope = §[]\nseed = §\"41\"\n"}, []string{
		`title is the number 4; put it in quotes: title = "4"`,
		`scope is a list; write a text in quotes`,
		`seed is the text "41"; write a whole number from 0 to 9223372036854775807, or take it out and let "fairrun sheet" choose`}},
	{"headlines that do not fit a line", map[string]string{"head": "title = §\"\"\nscope = §\"a\\nb\"\nseed = §-1\n"}, []string{
		`title is empty; fill it in, or take it out`,
		`scope is "a\nb", with characters that cannot be printed; keep it to one line of letters, digits and signs`,
		`seed is -1; write a whole number from 0 to 9223372036854775807, or take it out and let "fairrun sheet" choose`}},
	{"seed too large", map[string]string{"head": sound["head"] + "seed = §9223372036854775808\n"}, []string{
		`seed is 9223372036854775808; write a whole number from 0 to 9223372036854775807, or take it out and let "fairrun sheet" choose`}},
	{"blanks at the ends, after characters of two bytes", map[string]string{"head": "title = §\"weakening \"\nscope = \"µ\" # é\n\"seed\" = §{\"é\" = 1}\n"}, []string{
		`title is "weakening ", with blanks at its ends; write "weakening"`,
		`seed is a table; write a whole number from 0 to 9223372036854775807, or take it out and let "fairrun sheet" choose`}},

	// Drift.
	{"unknown drift", map[string]string{"rest": "[drift]\nmodel = §\"lineer\"\nown = §\"yes\"\n"}, []string{
		`model is "lineer"; did you mean "linear"? allowed: none, linear, quadratic, curve, position`,
		`own is the text "yes"; write true or false, without quotes`}},
	{"drift like none known", map[string]string{"rest": "[drift]\nmodel = §\"cubic\"\n"}, []string{
		`model is "cubic"; allowed: none, linear, quadratic, curve, position`}},
	{"any shape for each block", map[string]string{"rest": "[drift]\nmodel = \"position\"\n§own = true\n"}, []string{
		`own is true, but the model "position" is one shape that all blocks have in common; take own out, or choose linear, quadratic or curve`}},

	// Responses.
	{"response without a word", map[string]string{"response": "[[§§response]]\nunit = \"ms\"\n"}, []string{
		`[[response]] has no name; add name = "spin_up": its column in the run sheet`,
		`[[response]] has no better; add better = "lower": lower or higher, settled before there are results`}},
	{"words not known", map[string]string{"response": "[[response]]\nname = \"spin_up\"\nbetter = §\"low\"\nscale = §\"logarithm\"\nunit = §5\n"}, []string{
		`better is "low"; did you mean "lower"? allowed: lower, higher`,
		`scale is "logarithm"; did you mean "log"? allowed: raw, log`,
		`unit is the number 5; put it in quotes: unit = "5"`}},
	{"long unit", map[string]string{"response": "[[response]]\nname = \"spin_up\"\nbetter = \"lower\"\nunit = §\"newton metres a second\"\n"}, []string{
		`unit has 22 characters; keep it to 20`}},
	{"margin without a number", map[string]string{"response": sound["response"] + "margin = §\"%\"\nnoise = §\"abc\"\n"}, []string{
		`margin is "%", which has no number to go by; write a number in ms, or a percentage in quotes such as "2%"`,
		`noise is "abc", which has no number to go by; write a number in ms, or a percentage in quotes such as "2%"`}},
	{"record as noise", map[string]string{"response": sound["response"] + "noise = §\"../tank.toml\"\n"}, []string{
		`noise is "../tank.toml", which has no number to go by; the record of a rig's noise is named under [rig]; here write a number in ms, or a percentage in quotes such as "2%"`}},
	{"margin with two signs", map[string]string{"response": "[[response]]\nname = \"n\"\nbetter = \"lower\"\nmargin = §\"2 %%\"\nnoise = §\"1,5%\"\n"}, []string{
		`margin is "2 %%", which has no number to go by; write a number in the response's unit, or a percentage in quotes such as "2%"`,
		`noise is "1,5%", which has no number to go by; write a number in the response's unit, or a percentage in quotes such as "2%"`}},
	{"margins of nothing or less", map[string]string{"response": sound["response"] + "margin = §0\nnoise = §-0.5\n"}, []string{
		`margin is 0; it must be above zero`,
		`noise is -0.5; it must be above zero`}},
	{"percentages of nothing or less", map[string]string{"response": sound["response"] + "margin = §\"0 %\"\nnoise = §\"-2%\"\n"}, []string{
		`margin is "0 %"; a percentage must be above zero`,
		`noise is "-2%"; a percentage must be above zero`}},
	{"margins that are not finite", map[string]string{"response": sound["response"] + "margin = §inf\nnoise = §nan\n"}, []string{
		`margin is inf; write a number in ms, or a percentage in quotes such as "2%"`,
		`noise is nan; write a number in ms, or a percentage in quotes such as "2%"`}},
	{"margin in quotes", map[string]string{"response": sound["response"] + "margin = §\"0.5\"\nnoise = §true\n"}, []string{
		`margin is the text "0.5"; write 0.5 without quotes in ms, or "0.5%" for a percentage`,
		`noise is true; write a number in ms, or a percentage in quotes such as "2%"`}},
	{"noise that the margin cannot be compared with", map[string]string{"response": sound["response"] + "margin = \"2%\"\nnoise = §0.5\n"}, []string{
		`noise is 0.5 and margin 2%: one is a percentage and the other is not; write both as percentages, or both in the response's unit, so that they can be compared`}},

	// Analysis.
	{"chances that are none", map[string]string{"rest": "[analysis]\nalpha = §5\npower = §90.5\n"}, []string{
		`alpha is 5; write a chance between 0 and 1: for 5 % that is 0.05`,
		`power is 90.5; write a chance between 0 and 1: for 90.5 % that is 0.905`}},
	{"chances at the ends", map[string]string{"rest": "[analysis]\nalpha = §0.0\npower = §-1\n"}, []string{
		`alpha is 0.0; write a chance between 0 and 1`,
		`power is -1; write a chance between 0 and 1`}},
	{"chances of other types", map[string]string{"rest": "[analysis]\nalpha = §\"0.05\"\npower = §nan\n"}, []string{
		`alpha is the text "0.05"; write it without quotes`,
		`power is nan; write a finite number`}},
	{"power below alpha", map[string]string{"rest": "[analysis]\nalpha = 0.1\npower = §0.05\n"}, []string{
		`power 0.05 is no more than alpha 0.1; the chance to find a real difference must exceed that of a false alarm`}},
	{"alpha above the usual power", map[string]string{"rest": "[analysis]\nalpha = §0.95\n"}, []string{
		`power 0.9 is no more than alpha 0.95; the chance to find a real difference must exceed that of a false alarm`}},
	{"unknown family, no look", map[string]string{"rest": "[analysis]\ncompare = §\"pairwise\"\nlooks = §0\n"}, []string{
		`compare is "pairwise"; did you mean "pairs"? allowed: pairs, baseline, best`,
		`looks is 0; write a whole number, 1 or more`}},
	{"unknown spending", map[string]string{"rest": "[analysis]\nlooks = 2\nspending = §\"evenly\"\n"}, []string{
		`spending is "evenly"; allowed: obrien-fleming, pocock`}},
	{"spending of one look", map[string]string{"rest": "[analysis]\nspending = §\"pocock\"\n"}, []string{
		`spending says how looks share alpha, and the plan has one look; write looks = 2 or more, or leave spending out`}},
	{"more specimens than packs", map[string]string{"rest": "[specimens]\nname = \"motor\"\ncount = §3\n"}, []string{
		`3 motors need at least 3 packs, one on each; the plan has 2; write count = 2 or less here, or more in [block]`}},
	{"specimens called like a factor", map[string]string{"rest": "[specimens]\nname = §\"weakening\"\ncount = 2\n"}, []string{
		`the specimen "weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`}},
	{"specimens without a number", map[string]string{"rest": "[§specimens]\nname = \"motor\"\n"}, []string{
		`[specimens] has no count; add count = 3: how many of one type are tested`}},
	{"covariates that are no list", map[string]string{"rest": "[analysis]\ncovariates = §\"start_temp\"\n"}, []string{
		`covariates is the text "start_temp"; write a list of readings, such as ["start_temp"]`}},
	{"covariates that are no checks", map[string]string{"rest": "[analysis]\ncovariates = [§\"start_tmp\", §3, \"start_volts\", §\"start_volts\", §\"mood\"]\n"}, []string{
		`the covariate "start_tmp" is none of the readings; did you mean "start_temp"? allowed: start_volts, start_temp; [readings.NAME] adds one`,
		`a covariate is the number 3; write the name of a reading in quotes`,
		`the covariate "start_volts" stands twice; take one of them out`,
		`the covariate "mood" is none of the readings; allowed: start_volts, start_temp; [readings.NAME] adds one`}},
	{"more looks than packs", map[string]string{"rest": "[analysis]\nlooks = §3\n"}, []string{
		`3 looks need at least 3 packs, one before each look; the plan has 2; write looks = 2 or less`}},
	{"baseline without one", map[string]string{"rest": "[analysis]\ncompare = §\"baseline\"\n"}, []string{
		`compare is "baseline", but there is none for weakening; add baseline = …, one of the levels, to each`}},

	// Checks.
	{"checks", map[string]string{"rest": "[readings]\n§water = 4\n[readings.start_volts]\nlow = §25.2\nhigh = 24\n[readings.start_temp]\nlow = §\"10\"\n§hi = 45\n"}, []string{
		`water in [readings] is the number 4; write it as the table [readings.water] with unit, low and high`,
		`low 25.2 is not below high 24; exchange them, or leave one out`,
		`low is the text "10"; write it without quotes`,
		`unknown key "hi" in [readings.start_temp]; did you mean "high"? allowed: unit, low, high`}},
}

// numbers returns 0, 1, …, n-1 as a list of levels.
func numbers(n int) string {
	var s []string
	for i := range n {
		s = append(s, fmt.Sprint(i))
	}
	return strings.Join(s, ", ")
}

func TestSoundPartsHaveNoFault(t *testing.T) {
	text, _ := assemble(nil)
	if _, err := plan.Parse("campaign.toml", []byte(text)); err != nil {
		t.Fatal(err)
	}
}

func TestFaults(t *testing.T) {
	for _, c := range slices.Concat(faultCases, factorFaultCases, blockFaultCases, budgetFaultCases, orderFaultCases, sessionFaultCases) {
		t.Run(c.name, func(t *testing.T) {
			text, places := assemble(c.parts)
			var want []string
			for i, message := range c.want {
				if rest, whole := strings.CutPrefix(message, "file: "); whole {
					want = append(want, "campaign.toml: "+rest)
					continue
				}
				if i >= len(places) {
					t.Fatalf("%d messages, %d marks", len(c.want), len(places))
				}
				want = append(want, fmt.Sprintf("campaign.toml:%d:%d: %s", places[i][0], places[i][1], message))
			}
			// The same faults must come out of a file as Windows programs write it.
			windows := "\ufeff" + strings.ReplaceAll(text, "\n", "\r\n")
			for _, text := range []string{text, windows} {
				campaign, err := plan.Parse("campaign.toml", []byte(text))
				if err == nil || campaign != nil {
					t.Fatalf("Parse = %v, %v; want no campaign and an error", campaign, err)
				}
				if diff := cmp.Diff(want, strings.Split(err.Error(), "\n")); diff != "" {
					t.Errorf("faults (-want +got):\n%s", diff)
				}
				if got := len(fault.In(err)); got != len(want) {
					t.Errorf("%d faults, want %d", got, len(want))
				}
			}
		})
	}
}

// Without a file the place is in words.
func TestFaultWithoutFile(t *testing.T) {
	for want, f := range map[string]fault.Fault{
		"p.toml:3:7: found; do":       {File: "p.toml", Line: 3, Column: 7, Found: "found", Do: "do"},
		"p.toml: found; do":           {File: "p.toml", Found: "found", Do: "do"},
		"line 3, column 7: found; do": {Line: 3, Column: 7, Found: "found", Do: "do"},
		"found; do":                   {Found: "found", Do: "do"},
	} {
		if got := f.Error(); got != want {
			t.Errorf("%+v is %q, want %q", f, got, want)
		}
	}
}

func TestFilesThatAreNoText(t *testing.T) {
	for _, c := range []struct{ name, data, want string }{
		{"empty", "", `p.toml: the file is empty; begin with the plan that "fairrun init" writes`},
		{"blank", " \r\n\t\n", `p.toml: the file is empty; begin with the plan that "fairrun init" writes`},
		{"mark alone", "\ufeff", `p.toml: the file is empty; begin with the plan that "fairrun init" writes`},
		{"Latin-1", "title = \"é\"\nunit = \"\xb5V\"\n", `p.toml:2:9: the byte 0xB5 is not UTF-8; save the file again as UTF-8`},
		{"UTF-16", "\xff\xfet\x00i\x00", `p.toml: the file is UTF-16, not UTF-8; save it again as UTF-8`},
		{"too large", strings.Repeat("#\n", 1<<19) + "#", `p.toml: larger than 1 MiB, which no plan is; is this the right file?`},
	} {
		_, err := plan.Parse("p.toml", []byte(c.data))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: %v\nwant %s", c.name, err, c.want)
		}
		var f *fault.Fault
		if !errors.As(err, &f) {
			t.Errorf("%s: no Fault inside %v", c.name, err)
		}
	}
}

// A file that is no plan at all is answered in one screen, and soon.
func TestFaultsAreBounded(t *testing.T) {
	var b strings.Builder
	for i := range 90_000 {
		fmt.Fprintf(&b, "k%d=1\n", i)
	}
	_, err := plan.Parse("p.toml", []byte(b.String()))
	faults := fault.In(err)
	if len(faults) != 101 {
		t.Fatalf("%d faults, want the first 100 and one that counts the others", len(faults))
	}
	if got, want := faults[99].Line, 100; got != want {
		t.Errorf("the 100th fault is at line %d, want %d", got, want)
	}
	if got, want := faults[100].Error(), "p.toml: 900 more faults follow; mend these first"; got != want {
		t.Errorf("last fault %q, want %q", got, want)
	}
}
