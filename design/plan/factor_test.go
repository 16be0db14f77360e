package plan_test

import "strings"

// factorFaultCases are those of factors, of names and of chosen treatments; see faultCases.
var factorFaultCases = []faultCase{
	// Factors.
	{"factor without name and levels", map[string]string{"factor": "[[§§factor]]\nunit = \"A\"\n"}, []string{
		`[[factor]] has no name; add name = "weakening": its column in the run sheet`,
		`[[factor]] has no levels; add levels = [0, 4, 8]: numbers are ordered; names stand in quotes`}},
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
		`[[factor]] has no name; add name = "weakening": its column in the run sheet`,
		`baseline is the number 13, no level of this factor; levels: 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 1 more`}},
	{"more levels than a plan may have", map[string]string{"factor": "[[factor]]\nname = \"a\"\nlevels = §[" + numbers(501) + "]\n"}, []string{
		`levels has 501 levels; a plan may have at most 500`}},
	{"hard to change in quotes", map[string]string{"factor": sound["factor"] + "hard_to_change = §\"yes\"\n"}, []string{
		`hard_to_change is the text "yes"; write true or false, without quotes`}},
	{"two factors, more than a plan may have", map[string]string{"factor": "[[§factor]]\nname = \"a\"\nlevels = [" + numbers(300) + "]\n[[factor]]\nname = \"b\"\nlevels = [" + numbers(300) + "]\n"}, []string{
		`the factors have 600 levels together; a plan may have at most 500`}},
	{"too many combinations", map[string]string{"factor": "[[§factor]]\nname = \"a\"\nlevels = [" + numbers(200) + "]\n[[factor]]\nname = \"b\"\nlevels = [" + numbers(200) + "]\n"}, []string{
		`all combinations of the levels are more than 10000 treatments; a plan runs at most 200 different ones: choose some with treatments = [ … ], take levels out, or screen factors of two levels each (resolution = "III" in [order])`}},
	{"more combinations than are run", map[string]string{"factor": "[[§factor]]\nname = \"a\"\nlevels = [" + numbers(67) + "]\n[[factor]]\nname = \"b\"\nlevels = [" + numbers(3) + "]\n"}, []string{
		`all combinations of the levels are 201 treatments; a plan runs at most 200 different ones: choose some with treatments = [ … ], take levels out, or screen factors of two levels each (resolution = "III" in [order])`}},
	{"more chosen treatments than are run", map[string]string{"head": sound["head"] + "treatments = §[{a = " + strings.ReplaceAll(numbers(201), ", ", "}, {a = ") + "}]\n", "factor": "[[factor]]\nname = \"a\"\nlevels = [" + numbers(201) + "]\n"}, []string{
		`treatments has 201 treatments; a plan runs at most 200 different ones: take some out, or screen factors of two levels each (resolution = "III" in [order] in place of treatments)`}},
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
		`the response "start_temp" has the name of a reading of every sheet; choose another name: each heads its own column, and capitals do not tell them apart`}},
	{"colliding names", map[string]string{
		"block":    "[block]\nname = §\"weakening\"\ncount = 2\nreplicates = 2\n",
		"response": "[[response]]\nname = §\"Weakening\"\nbetter = \"lower\"\n[readings.§weakening]\n"}, []string{
		`the block "weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`,
		`the response "Weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`,
		`the reading "weakening" has the name of the factor at line 4; choose another name: each heads its own column, and capitals do not tell them apart`}},

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
	{"effects that cannot be distinguished", map[string]string{
		"head":   sound["head"] + "interactions = false\n§treatments = [{weakening = 0, prop = \"A\"}, {weakening = 4, prop = \"B\"}]\n",
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, 4]\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n"}, []string{
		`the chosen treatments cannot tell the effects of weakening and prop apart; add treatments that change one and not the other, or write interactions = true to compare the treatments as they stand`}},
	{"baselines that were not chosen", map[string]string{
		"head":   sound["head"] + "treatments = [{weakening = 0, prop = \"A\"}, {weakening = 4, prop = \"B\"}]\n",
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, 4]\nbaseline = 0\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nbaseline = \"B\"\n",
		"rest":   "[analysis]\ncompare = §\"baseline\"\n"}, []string{
		`compare is "baseline", but the baselines together, "0 B", are none of the chosen treatments; add that treatment, or change the baselines`}},
}
