package design_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"fairrun/design"

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
func assemble(parts map[string]string) (plan string, places [][2]int) {
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
		`file: the plan has no scope; add scope = "…": what is tested; verdicts speak of this`,
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
		`unknown key "repliactes" in [block]; did you mean "replicates"? allowed: name, count, replicates, runs`}},
	{"unknown table", map[string]string{"rest": "[§forecast]\nheat = 1\n"}, []string{
		`unknown key "forecast" in the plan; allowed: title, scope, seed, treatments, interactions, factor, block, drift, order, response, analysis, checks, budget, simulation, units, rig, session, items`}},
	{"unknown table below a response", map[string]string{"rest": "[response.§measure]\nkind = \"rise\"\n"}, []string{
		`unknown key "measure" in [[response]]; allowed: name, unit, better, margin, noise, scale`}},
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

	// Factors.
	{"factor without name and levels", map[string]string{"factor": "[[§§factor]]\nunit = \"A\"\n"}, []string{
		`[[factor]] has no name; add name = "…": the sheet's column for this factor`,
		`[[factor]] has no levels; add levels = [0, 4, 8] or levels = ["A", "B"]`}},
	{"level twice", map[string]string{"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, 4, 8, §4]\n"}, []string{
		`the level 4 stands twice; take one of them out`}},
	{"same number in other digits", map[string]string{"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0.5, §0.50, §5e-1]\n"}, []string{
		`the levels 0.5 and 0.50 are the same number; take one of them out`,
		`the levels 0.5 and 5e-1 are the same number; take one of them out`}},
	{"text level twice", map[string]string{"factor": "[[factor]]\nname = \"prop\"\nlevels = [\"A\", §\"A\"]\n"}, []string{
		`the level A stands twice; take one of them out`}},
	{"one level", map[string]string{"factor": "[[factor]]\nname = \"weakening\"\nlevels = §[4]\n"}, []string{
		`levels has 1 of the at least 2 levels a factor needs; add a level, or take the factor out of the plan`}},
	{"no level", map[string]string{"factor": "[[factor]]\nname = \"weakening\"\nlevels = §[]\n"}, []string{
		`levels has 0 of the at least 2 levels a factor needs; add a level, or take the factor out of the plan`}},
	{"levels no list", map[string]string{"factor": "[[factor]]\nname = \"weakening\"\nlevels = §\"0, 4, 8\"\n"}, []string{
		`levels is the text "0, 4, 8"; write a list, such as [0, 4, 8] or ["A", "B"]`}},
	{"numbers and texts", map[string]string{"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, §\"4\"]\n"}, []string{
		`levels are numbers and texts: the text "4" after the number 0; write all with quotes, or all without`}},
	{"levels of other types", map[string]string{"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, §true, §2025-01-31, §{a = 1}, §inf, §nan, §0x10, §1_000, §1e999]\n"}, []string{
		`the level is true, neither a number nor a text; put it in quotes: "true"`,
		`the level is the time 2025-01-31, neither a number nor a text; put it in quotes: "2025-01-31"`,
		`the level is a table; write a number or a text, such as 4 or "A"`,
		`the level is inf; write a finite number`,
		`the level is nan; write a finite number`,
		`the level 0x10 cannot stand in a sheet as it is; write it in plain decimal digits`,
		`the level 1_000 cannot stand in a sheet as it is; write it in plain decimal digits`,
		`the level is 1e999; write a finite number`}},
	{"levels no cell can hold", map[string]string{"factor": "[[factor]]\nname = \"prop\"\nlevels = [\"A\", §\"\", §\" B\", §\"=B\", §\"-B\", \"-4\"]\n"}, []string{
		`the level is empty; fill it in, or take it out`,
		`the level is " B", with blanks at its ends; write "B"`,
		`a spreadsheet would take the level "=B" for a formula; begin it with a letter or a digit`,
		`a spreadsheet would take the level "-B" for a formula; begin it with a letter or a digit`}},
	{"baseline no level", map[string]string{"factor": sound["factor"] + "baseline = §3\n"}, []string{
		`baseline is the number 3, no level of weakening; levels: 0, 4, 8`}},
	{"baseline in quotes", map[string]string{"factor": sound["factor"] + "baseline = §\"4\"\n"}, []string{
		`baseline is the text "4", no level of weakening; write 4 without quotes`}},
	{"baseline without quotes", map[string]string{"factor": "[[factor]]\nname = \"mode\"\nlevels = [\"1\", \"2\"]\nbaseline = §1\n"}, []string{
		`baseline is the number 1, no level of mode; write "1" in quotes`}},
	{"baseline of a long list, in a factor without a name", map[string]string{"factor": "[[§factor]]\nlevels = [" + numbers(13) + "]\nbaseline = §13\n"}, []string{
		`[[factor]] has no name; add name = "…": the sheet's column for this factor`,
		`baseline is the number 13, no level of this factor; levels: 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, …`}},
	{"more levels than a plan may have", map[string]string{"factor": "[[factor]]\nname = \"a\"\nlevels = §[" + numbers(501) + "]\n"}, []string{
		`levels has 501 levels; a plan may have at most 500`}},
	{"change misspelt", map[string]string{"factor": sound["factor"] + "change = §\"eazy\"\n"}, []string{
		`change is "eazy"; did you mean "easy"? allowed: easy, hard`}},
	{"two factors, more than a plan may have", map[string]string{"factor": "[[§factor]]\nname = \"a\"\nlevels = [" + numbers(300) + "]\n[[factor]]\nname = \"b\"\nlevels = [" + numbers(300) + "]\n"}, []string{
		`the factors have 600 levels together; a plan may have at most 500`}},
	{"too many combinations", map[string]string{"factor": "[[§factor]]\nname = \"a\"\nlevels = [" + numbers(200) + "]\n[[factor]]\nname = \"b\"\nlevels = [" + numbers(200) + "]\n"}, []string{
		`all combinations of the levels are more than 10000 treatments; choose some of them with treatments = [ … ], or take levels out`}},
	{"treatments that are called alike", map[string]string{"factor": "[[§factor]]\nname = \"a\"\nlevels = [\"x\", \"x y\"]\n[[factor]]\nname = \"b\"\nlevels = [\"y z\", \"z\"]\n"}, []string{
		`the treatments ["x" "y z"] and ["x y" "z"] are both called "x y z"; write levels without blanks, so that a treatment's name says which it is`}},

	// Names.
	{"names that head no column", map[string]string{
		"factor":   "[[factor]]\nname = §\"field weakening (A)\"\nlevels = [0, 4, 8]\n",
		"response": "[[response]]\nname = §\"2nd\"\nbetter = \"lower\"\n[[response]]\nname = §\"a=b\"\nbetter = \"lower\"\n[[response]]\nname = §\"?\"\nbetter = \"lower\"\n"}, []string{
		`"field weakening (A)" cannot head a column; use letters, digits and _, a letter first, such as "field_weakening_A"`,
		`"2nd" cannot head a column; use letters, digits and _, a letter first, such as "nd"`,
		`"a=b" cannot head a column; use letters, digits and _, a letter first, such as "a_b"`,
		`"?" cannot head a column; use letters, digits and _, a letter first`}},
	{"name too long", map[string]string{"factor": "[[factor]]\nname = §\"" + strings.Repeat("a", 41) + "\"\nlevels = [0, 4]\n"}, []string{
		`the name "` + strings.Repeat("a", 39) + `…" has 41 characters; keep it to 40`}},
	{"reserved names", map[string]string{"response": "[[response]]\nname = §\"Status\"\nbetter = \"lower\"\n[[response]]\nname = §\"done_at\"\nbetter = \"lower\"\n[[response]]\nname = §\"start_temp\"\nbetter = \"lower\"\n"}, []string{
		`the response "Status" has the name of a column of every sheet; choose another name: each heads its own column, and capitals do not tell them apart`,
		`the response "done_at" has the name of a column of every sheet; choose another name: each heads its own column, and capitals do not tell them apart`,
		`the response "start_temp" has the name of a check of every sheet; choose another name: each heads its own column, and capitals do not tell them apart`}},
	{"colliding names", map[string]string{
		"block":    "[block]\nname = §\"weakening\"\ncount = 2\nreplicates = 2\n",
		"response": "[[response]]\nname = §\"Weakening\"\nbetter = \"lower\"\n[checks.§weakening]\n"}, []string{
		`the block "weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`,
		`the response "Weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`,
		`the check "weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`}},

	// Blocks.
	{"block without numbers", map[string]string{"block": "[§§block]\n"}, []string{
		`[block] has no count; add count = 4: how many packs or sessions there are`,
		`[block] has no replicates; add replicates = 2: how often each treatment is run in each block; or runs = 6 when a block lasts fewer runs than there are treatments`}},
	{"numbers that count nothing", map[string]string{"block": "[block]\nname = §7\ncount = §0\nreplicates = §-2\n"}, []string{
		`name is the number 7; put it in quotes: name = "7"`,
		`count is 0; write a whole number, 1 or more`,
		`replicates is -2; write a whole number, 1 or more`}},
	{"zero replicates", map[string]string{"block": "[block]\ncount = 2\nreplicates = §0\n"}, []string{
		`replicates is 0; write a whole number, 1 or more`}},
	{"numbers that are not whole", map[string]string{"block": "[block]\ncount = §2.0\nreplicates = §\"2\"\n"}, []string{
		`count is the number 2.0; write a whole number, 1 or more`,
		`replicates is the text "2"; write a whole number, 1 or more`}},
	{"numbers out of all proportion", map[string]string{"block": "[block]\ncount = §99999999999999999999\nreplicates = §10001\n"}, []string{
		`count is 99999999999999999999; write a whole number from 1 to 10000`,
		`replicates is 10001; write a whole number from 1 to 10000`}},
	{"replicates and runs", map[string]string{"block": "[block]\ncount = 2\nreplicates = 2\n§runs = 2\n"}, []string{
		`replicates and runs exclude each other; keep replicates when a block holds every treatment, runs when it holds fewer runs than there are treatments`}},
	{"too many runs", map[string]string{"block": "[block]\ncount = §1000\nreplicates = 4\n"}, []string{
		`the plan asks for 1000 blocks of 12 runs; a plan may have at most 10000 runs`}},
	{"nothing left for the noise", map[string]string{"block": "[block]\nname = \"battery\"\ncount = 1\nreplicates = §1\n"}, []string{
		// 3 runs; the mean, the slope and 3-1 differences are 4.
		`3 runs leave nothing to estimate the noise: 1 battery, 1 drift term and 2 treatment differences take 4; write replicates = 2 or count = 2, or more`}},
	{"nothing left for the noise, own drift in each block", map[string]string{
		"block": "[block]\nname = \"pack\"\ncount = 2\nreplicates = §1\n", "rest": "[drift]\nmodel = \"quadratic\"\nshared = false\n"}, []string{
		// 6 runs; 2 blocks, 2·2 curves, 2 differences. With 2 replicates 12 runs leave 4; blocks of 3
		// runs are wholly spent on their mean and curve, so no number of them helps.
		`6 runs leave nothing to estimate the noise: 2 packs, 4 drift terms and 2 treatment differences take 8; write replicates = 2 or more`}},
	{"any shape in one block", map[string]string{"block": "[block]\ncount = 1\nreplicates = §5\n", "rest": "[drift]\nmodel = \"position\"\n"}, []string{
		// 15 runs, 15 positions. Two blocks have 30 runs, 2 + 14 + 2 things to estimate.
		`15 runs leave nothing to estimate the noise: 1 block, 14 drift terms and 2 treatment differences take 17; write count = 2 or more`}},
	{"block that holds all treatments", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 4\n§runs = 6\n"}, []string{
		`a pack of 6 runs holds all 3 treatments; write replicates = 2 in place of runs`}},
	{"block of one run", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 40\nruns = §1\n"}, []string{
		`a pack of 1 run compares nothing; write runs = 2 or more`}},
	{"block too small for the treatments", map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [" + numbers(12) + "]\n",
		"block":  "[block]\nname = \"pack\"\ncount = §1\nruns = 8\n"}, []string{
		// 2 packs are the first to hold 12 treatments: 16 runs, 2 + 1 + 11 things to estimate.
		`12 treatments need at least 2 packs of 8 runs; you have 1; write count = 2 or more: then all are compared, and something is left to estimate the noise`}},
	{"blocks of pairs that cannot link all treatments", map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, 1, 2, 3, 4, 5]\n",
		"block":  "[block]\ncount = §6\nruns = 2\n"}, []string{
		// 6 blocks: 12 runs, 6 + 1 + 5 = 12 things; 7 blocks: 14 runs, 13 things.
		`6 treatments need at least 7 blocks of 2 runs; you have 6; write count = 7 or more: then all are compared, and something is left to estimate the noise`}},

	{"pairs that are spent on their own drift", map[string]string{"block": "[block]\ncount = §6\nruns = 2\n", "rest": "[drift]\nshared = false\n"}, []string{
		`no number of blocks of 2 runs is enough for 3 treatments; take treatments out, or choose a simpler drift model`}},
	{"more treatments than can be repeated", map[string]string{
		"factor": "[[factor]]\nname = \"a\"\nlevels = [" + numbers(100) + "]\n[[factor]]\nname = \"b\"\nlevels = [" + numbers(60) + "]\n",
		"block":  "[block]\ncount = 1\nreplicates = §1\n"}, []string{
		`6000 runs leave nothing to estimate the noise: 1 block, 1 drift term and 5999 treatment differences take 6001; take treatments out, or choose a simpler drift model`}},

	// Drift.
	{"unknown drift", map[string]string{"rest": "[drift]\nmodel = §\"lineer\"\nshared = §\"yes\"\n"}, []string{
		`model is "lineer"; did you mean "linear"? allowed: none, linear, quadratic, position`,
		`shared is the text "yes"; write true or false, without quotes`}},
	{"drift like none known", map[string]string{"rest": "[drift]\nmodel = §\"cubic\"\n"}, []string{
		`model is "cubic"; allowed: none, linear, quadratic, position`}},
	{"any shape for each block", map[string]string{"rest": "[drift]\nmodel = \"position\"\n§shared = false\n"}, []string{
		`shared is false, but the model "position" is one shape that all blocks share; take shared out, or choose linear or quadratic`}},

	// Responses.
	{"response without a word", map[string]string{"response": "[[§§response]]\nunit = \"ms\"\n"}, []string{
		`[[response]] has no name; add name = "…": the sheet's column for this response`,
		`[[response]] has no better; add better = "lower" or better = "higher": which way is better is settled before there are results`}},
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
	{"noise that the margin cannot be held against", map[string]string{"response": sound["response"] + "margin = \"2%\"\nnoise = §0.5\n"}, []string{
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
	{"more units than packs", map[string]string{"rest": "[units]\nname = \"motor\"\ncount = §3\n"}, []string{
		`3 motors need at least 3 packs, one on each; the plan has 2; write count = 2 or less here, or more in [block]`}},
	{"units called like a factor", map[string]string{"rest": "[units]\nname = §\"weakening\"\ncount = 2\n"}, []string{
		`the unit "weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`}},
	{"units without a number", map[string]string{"rest": "[§units]\nname = \"motor\"\n"}, []string{
		`[units] has no count; add count = 3: how many of one type are tested`}},
	{"covariates that are no list", map[string]string{"rest": "[analysis]\ncovariates = §\"start_temp\"\n"}, []string{
		`covariates is the text "start_temp"; write a list of checks, such as ["start_temp"]`}},
	{"covariates that are no checks", map[string]string{"rest": "[analysis]\ncovariates = [§\"start_tmp\", §3, \"start_volts\", §\"start_volts\", §\"mood\"]\n"}, []string{
		`the covariate "start_tmp" is none of the checks; did you mean "start_temp"? allowed: start_volts, start_temp; [checks.NAME] adds one`,
		`a covariate is the number 3; write the name of a check in quotes`,
		`the covariate "start_volts" stands twice; take one of them out`,
		`the covariate "mood" is none of the checks; allowed: start_volts, start_temp; [checks.NAME] adds one`}},
	{"more looks than packs", map[string]string{"rest": "[analysis]\nlooks = §3\n"}, []string{
		`3 looks need at least 3 packs, one before each look; the plan has 2; write looks = 2 or less`}},
	{"baseline without one", map[string]string{"rest": "[analysis]\ncompare = §\"baseline\"\n"}, []string{
		`compare is "baseline", but there is none for weakening; add baseline = …, one of the levels, to each`}},

	// Checks.
	{"checks", map[string]string{"rest": "[checks]\n§water = 4\n[checks.start_volts]\nlow = §25.2\nhigh = 24\n[checks.start_temp]\nlow = §\"10\"\n§hi = 45\n"}, []string{
		`water in [checks] is the number 4; write it as the table [checks.water] with unit, low and high`,
		`low 25.2 is not below high 24; exchange them, or leave one out`,
		`low is the text "10"; write it without quotes`,
		`unknown key "hi" in [checks.start_temp]; did you mean "high"? allowed: unit, low, high`}},

	// Chosen treatments.
	{"treatments of no list", map[string]string{"head": sound["head"] + "treatments = §\"all\"\n"}, []string{
		`treatments is the text "all"; write a list such as [{weakening = 0}, …], or take it out to run all combinations`}},
	{"no treatments", map[string]string{"head": sound["head"] + "treatments = §[]\n"}, []string{
		`treatments is an empty list; write a list such as [{weakening = 0}, …], or take it out to run all combinations`}},
	{"treatments at fault", map[string]string{
		"head":   sound["head"] + "treatments = [\n  {weakening = 0, prop = \"A\"},\n  §{weakening = 0},\n  {weakening = §3, §porp = \"A\", prop = §\"C\"},\n  §{weakening = 0.0, prop = \"A\"},\n  §7,\n]\n",
		"factor": sound["factor"] + "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n"}, []string{
		`the treatment says nothing of prop; add prop = "A", or another of its levels`,
		`weakening is the number 3, no level of weakening; levels: 0, 4, 8`,
		`"porp" is no factor; did you mean "prop"? allowed: weakening, prop`,
		`prop is the text "C", no level of prop; levels: A, B`,
		`the treatment "0 A" stands twice, first at line 4; take one of them out; replicates repeats treatments`,
		`a treatment is the number 7; write a level of each factor: {weakening = 0, prop = "A"}`}},
	{"one treatment", map[string]string{"head": sound["head"] + "treatments = §[{weakening = 4}]\n"}, []string{
		`treatments has 1 of the at least 2 treatments a comparison needs; add another`}},
	{"level that no treatment has", map[string]string{
		"head":   sound["head"] + "treatments = [{weakening = 0}, {weakening = 8}]\n",
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, §4, 8]\n"}, []string{
		`the level 4 of weakening is in none of the chosen treatments; add a treatment that has it, or take the level out`}},
	{"effects that cannot be told apart", map[string]string{
		"head":   sound["head"] + "interactions = false\n§treatments = [{weakening = 0, prop = \"A\"}, {weakening = 4, prop = \"B\"}]\n",
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, 4]\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n"}, []string{
		`the chosen treatments cannot tell the effects of weakening and prop apart; add treatments that change one and not the other, or write interactions = true to compare the treatments as they stand`}},
	{"baselines that were not chosen", map[string]string{
		"head":   sound["head"] + "treatments = [{weakening = 0, prop = \"A\"}, {weakening = 4, prop = \"B\"}]\n",
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, 4]\nbaseline = 0\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nbaseline = \"B\"\n",
		"rest":   "[analysis]\ncompare = §\"baseline\"\n"}, []string{
		`compare is "baseline", but the baselines together, "0 B", are none of the chosen treatments; add that treatment, or change the baselines`}},

	// Budget.
	{"times without units", map[string]string{"rest": "[budget]\nrun = §40\nrest = §\"3\"\nswap = §\"30 s 1 min\"\n"}, []string{
		`run is the number 40; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`,
		`rest is "3"; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`,
		`swap is "30 s 1 min"; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`}},
	{"times out of range", map[string]string{"rest": "[budget]\nrun = §\"0 s\"\nrest = §\"25 h\"\n"}, []string{
		`run is "0 s"; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`,
		`rest is "25 h"; keep it within 24 h`}},
	{"budget without a run", map[string]string{"rest": "[§budget]\nrest = \"3 min\"\n"}, []string{
		`[budget] has no run; add run = "40 s": how long one run takes`}},
	{"pack without a draw", map[string]string{"rest": "[§budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\n"}, []string{
		`[budget] has no draw; add draw = "18 A", the mean of a run, or use = "0.2 Ah", the whole of it`}},
	{"draw without a pack", map[string]string{"rest": "[budget]\nrun = \"40 s\"\n§draw = \"18 A\"\n"}, []string{
		`draw stands without the capacity it is taken from; add capacity = "5 Ah", of a full pack`}},
	{"quantities at fault", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = §\"5\"\nusable = §\"120%\"\ndraw = §\"18 V\"\n"}, []string{
		`capacity is "5"; write a number and its unit (Ah, mAh, Wh, kWh), such as "5 Ah"`,
		`usable is the text "120%"; write a percentage above 0 and up to 100, such as "80%"`,
		`draw is "18 V"; write a number and its unit (A, mA, W, kW), such as "18 A"`}},
	{"quantities of other types", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = §5\nuse = §\"-0.2 Ah\"\nusable = §0\n§changeover = \"4 min\"\n"}, []string{
		`capacity is the number 5; write a number and its unit (Ah, mAh, Wh, kWh), such as "5 Ah"`,
		`use is "-0.2 Ah"; write a number and its unit (Ah, mAh, Wh, kWh), such as "0.2 Ah"`,
		`usable is the number 0; write a percentage above 0 and up to 100, such as "80%"`,
		`changeover is the text "4 min"; write it as the table [budget.changeover]`}},
	{"draw twice", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\ndraw = \"18 A\"\n§use = \"0.2 Ah\"\n"}, []string{
		`draw and use both say what a run takes; keep draw, which is multiplied by the run time, or use, for the whole run`}},
	{"amp-hours and watts", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\ndraw = §\"400 W\"\n"}, []string{
		`capacity is in Ah, but draw counts in Wh; write both in Ah and A, or both in Wh and W`}},
	{"change-over of no factor", map[string]string{"rest": "[budget]\nrun = \"40 s\"\nchangeover = {§prop = \"4 min\", weakening = §4}\n"}, []string{
		`unknown key "prop" in [budget.changeover]; allowed: weakening`,
		`weakening is the number 4; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`}},
	{"more than a century", map[string]string{"block": "[block]\ncount = 100\nreplicates = 33\n", "rest": "[budget]\n§run = \"24 h\"\nrest = \"24 h\"\nswap = \"24 h\"\nchangeover = {weakening = \"24 h\"}\n"}, []string{
		// 9900 runs of at most 4 days are 108 years.
		`the times of 9900 runs add up to more than a century; are the units right?`}},
	{"pack that lasts no run", map[string]string{"rest": "[budget]\nrun = \"1 h\"\ncapacity = §\"5 Ah\"\ndraw = \"18 A\"\n"}, []string{
		`a pack gives 4 Ah and a run takes 18 Ah: it lasts 0 runs, and comparing within a pack takes 2; write run = "6 min 40 s" or less, or capacity = "45 Ah" or more: then it lasts 2`}},
	// 4 Ah are 12 min at 10 A, twice; 20 Ah at 80 % are 16, of which each takes 8.
	{"pack that lasts no run of 48 min", map[string]string{"rest": "[budget]\nrun = \"48 min\"\ncapacity = §\"5 Ah\"\ndraw = \"10 A\"\n"}, []string{
		`a pack gives 4 Ah and a run takes 8 Ah: it lasts 0 runs, and comparing within a pack takes 2; write run = "12 min" or less, or capacity = "20 Ah" or more: then it lasts 2`}},
	// 2 · 3 Ah / 80 % are 7.5 Ah; 4 Ah are 2 runs of 2.
	{"pack that lasts one run", map[string]string{"rest": "[budget]\nrun = \"48 min\"\ncapacity = §\"5 Ah\"\nuse = \"3 Ah\"\n"}, []string{
		`a pack gives 4 Ah and a run takes 3 Ah: it lasts 1 run, and comparing within a pack takes 2; write use = "2 Ah" or less, or capacity = "7.5 Ah" or more: then it lasts 2`}},
	{"pack that lasts fewer runs than there are treatments", map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [" + numbers(12) + "]\n",
		"block":  "[block]\nname = \"pack\"\ncount = 1\nreplicates = §2\n",
		"rest":   "[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\nuse = \"500 mAh\"\n"}, []string{
		// 80 % of 5 Ah is 8 runs of 0.5 Ah; 24 runs are 3 packs of 8.
		`a pack lasts 8 runs and the plan puts 24 into it: 12 treatments need at least 2 packs of 8 runs; you have 1; write runs = 8 in place of replicates and count = 3: 24 runs`}},
	{"pack that lasts pairs which are spent on their own drift", map[string]string{
		"block": "[block]\nname = \"pack\"\ncount = 4\nreplicates = §2\n",
		"rest":  "[drift]\nshared = false\n[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\nuse = \"2 Ah\"\n"}, []string{
		`a pack lasts 2 runs and the plan puts 6 into it; take treatments out, or write use = "0.666 Ah" or less, or capacity = "15 Ah" or more: then it lasts 6`}},
	{"pack that lasts one replicate", map[string]string{
		"block": "[block]\nname = \"pack\"\ncount = 2\nreplicates = §4\n",
		"rest":  "[budget]\nrun = \"36 s\"\ncapacity = \"0.1 kWh\"\nusable = 0.9\ndraw = \"1800 W\"\n"}, []string{
		// 90 Wh over 18 Wh is 5 runs: 1 replicate of 3; the 24 runs are 8 packs of 3.
		`a pack lasts 5 runs and the plan puts 12 into it; write replicates = 1 and count = 8: 24 runs`}},
	{"pack that does not last an incomplete block", map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [" + numbers(6) + "]\n",
		"block":  "[block]\nname = \"pack\"\ncount = 6\nruns = §5\n",
		"rest":   "[budget]\nrun = \"36 s\"\ncapacity = \"1 Ah\"\nusable = \"100 %\"\nuse = \"0.3 Ah\"\n"}, []string{
		`a pack lasts 3 runs and the plan puts 5 into it; write runs = 3 and count = 10: 30 runs`}},
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
	plan, _ := assemble(nil)
	if _, err := design.Parse("campaign.toml", []byte(plan)); err != nil {
		t.Fatal(err)
	}
}

func TestFaults(t *testing.T) {
	for _, c := range slices.Concat(faultCases, orderFaultCases, sessionFaultCases) {
		t.Run(c.name, func(t *testing.T) {
			plan, places := assemble(c.parts)
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
			windows := "\ufeff" + strings.ReplaceAll(plan, "\n", "\r\n")
			for _, text := range []string{plan, windows} {
				campaign, err := design.Parse("campaign.toml", []byte(text))
				if err == nil || campaign != nil {
					t.Fatalf("Parse = %v, %v; want no campaign and an error", campaign, err)
				}
				if diff := cmp.Diff(want, strings.Split(err.Error(), "\n")); diff != "" {
					t.Errorf("faults (-want +got):\n%s", diff)
				}
				if got := len(design.Faults(err)); got != len(want) {
					t.Errorf("%d faults, want %d", got, len(want))
				}
			}
		})
	}
}

// Without a file the place is in words.
func TestFaultWithoutFile(t *testing.T) {
	for want, f := range map[string]design.Fault{
		"p.toml:3:7: found; do":       {File: "p.toml", Line: 3, Column: 7, What: "found", Do: "do"},
		"p.toml: found; do":           {File: "p.toml", What: "found", Do: "do"},
		"line 3, column 7: found; do": {Line: 3, Column: 7, What: "found", Do: "do"},
		"found; do":                   {What: "found", Do: "do"},
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
		_, err := design.Parse("p.toml", []byte(c.data))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: %v\nwant %s", c.name, err, c.want)
		}
		var f *design.Fault
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
	_, err := design.Parse("p.toml", []byte(b.String()))
	faults := design.Faults(err)
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
