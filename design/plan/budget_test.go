package plan_test

// budgetFaultCases are those of [budget] and of packs that do not last; see faultCases.
var budgetFaultCases = []faultCase{
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
		`[budget] has no load; add load = "10 A", the mean of a run, or use = "0.2 Ah", the whole of it`}},
	{"draw without a pack", map[string]string{"rest": "[budget]\nrun = \"40 s\"\n§load = \"18 A\"\n"}, []string{
		`load stands without the capacity it is taken from; add capacity = "5 Ah", of a full pack`}},
	{"quantities at fault", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = §\"5\"\nusable = §\"120%\"\nload = §\"18 V\"\n"}, []string{
		`capacity is "5"; write a number and its unit (Ah, mAh, Wh, kWh), such as "5 Ah"`,
		`usable is the text "120%"; write a percentage above 0 and up to 100, such as "80%"`,
		`load is "18 V"; write a number and its unit (A, mA, W, kW), such as "10 A"`}},
	{"quantities of other types", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = §5\nuse = §\"-0.2 Ah\"\nusable = §0\n§changeover = \"4 min\"\n"}, []string{
		`capacity is the number 5; write a number and its unit (Ah, mAh, Wh, kWh), such as "5 Ah"`,
		`use is "-0.2 Ah"; write a number and its unit (Ah, mAh, Wh, kWh), such as "0.2 Ah"`,
		`usable is the number 0; write a percentage above 0 and up to 100, such as "80%"`,
		`changeover is the text "4 min"; write it as the table [budget.changeover]`}},
	{"draw twice", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\nload = \"18 A\"\n§use = \"0.2 Ah\"\n"}, []string{
		`load and use both say what a run takes; keep load, which is multiplied by the run time, or use, for the whole run`}},
	{"amp-hours and watts", map[string]string{"rest": "[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\nload = §\"400 W\"\n"}, []string{
		`capacity is in Ah, but load counts in Wh; write both in Ah and A, or both in Wh and W`}},
	{"change-over of no factor", map[string]string{"rest": "[budget]\nrun = \"40 s\"\nchangeover = {§prop = \"4 min\", weakening = §4}\n"}, []string{
		`unknown key "prop" in [budget.changeover]; allowed: weakening`,
		`weakening is the number 4; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`}},
	{"more than a century", map[string]string{"block": "[block]\ncount = 100\nreplicates = 33\n", "rest": "[budget]\n§run = \"24 h\"\nrest = \"24 h\"\nswap = \"24 h\"\nchangeover = {weakening = \"24 h\"}\n"}, []string{
		// 9900 runs of at most 4 days are 108 years.
		`the times of 9900 runs add up to more than a century; are the units right?`}},
	{"pack that lasts no run", map[string]string{"rest": "[budget]\nrun = \"1 h\"\ncapacity = §\"5 Ah\"\nload = \"18 A\"\n"}, []string{
		`a pack gives 4 Ah and a run takes 18 Ah: it lasts 0 runs, and comparing within a pack takes 2; write run = "6 min 40 s" or less, or capacity = "45 Ah" or more: then it lasts 2`}},
	// 4 Ah are 12 min at 10 A, twice; 20 Ah at 80 % are 16, of which each takes 8.
	{"pack that lasts no run of 48 min", map[string]string{"rest": "[budget]\nrun = \"48 min\"\ncapacity = §\"5 Ah\"\nload = \"10 A\"\n"}, []string{
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
		"rest":  "[drift]\nown = true\n[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\nuse = \"2 Ah\"\n"}, []string{
		`a pack lasts 2 runs and the plan puts 6 into it; take treatments out, or write use = "0.666 Ah" or less, or capacity = "15 Ah" or more: then it lasts 6`}},
	{"pack that lasts one replicate", map[string]string{
		"block": "[block]\nname = \"pack\"\ncount = 2\nreplicates = §4\n",
		"rest":  "[budget]\nrun = \"36 s\"\ncapacity = \"0.1 kWh\"\nusable = 0.9\nload = \"1800 W\"\n"}, []string{
		// 90 Wh over 18 Wh is 5 runs: 1 replicate of 3; the 24 runs are 8 packs of 3.
		`a pack lasts 5 runs and the plan puts 12 into it; write replicates = 1 and count = 8: 24 runs`}},
	{"pack that does not last an incomplete block", map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [" + numbers(6) + "]\n",
		"block":  "[block]\nname = \"pack\"\ncount = 6\nruns = §5\n",
		"rest":   "[budget]\nrun = \"36 s\"\ncapacity = \"1 Ah\"\nusable = \"100 %\"\nuse = \"0.3 Ah\"\n"}, []string{
		`a pack lasts 3 runs and the plan puts 5 into it; write runs = 3 and count = 10: 30 runs`}},
}
