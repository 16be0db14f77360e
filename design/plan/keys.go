package plan

import "fairrun/design"

// planHead and noiseHead point to what stands in no table.
const (
	planHead  = "the plan"
	noiseHead = "the noise record"
)

var (
	capacityUnits = []measure{{"Ah", "Ah", 1}, {"mAh", "Ah", 1e-3}, {"Wh", "Wh", 1}, {"kWh", "Wh", 1e3}}
	loadUnits     = []measure{{"A", "Ah", 1}, {"mA", "Ah", 1e-3}, {"W", "Wh", 1}, {"kW", "Wh", 1e3}}
	measures      = []string{design.MeasureTransition, design.MeasureDelay, design.MeasureSlope, design.MeasureOvershoot, design.MeasureSettling, design.MeasureSteady,
		design.MeasureHighest, design.MeasureValue, design.MeasureGradient, design.MeasureIntegral, design.MeasureChange}
	resolutions = []string{"III", "IV", "V"}
)

const (
	mostTime  = 24.0  // hours: the longest of most times
	mostHours = 240.0 // hours: the longest that a session or a campaign may take
)

// planKeys are all keys of a plan. A new key is a line here and is read in the file of its table.
var planKeys = []tableKeys{
	{head: planHead, meaning: "what the plan says of itself, and which treatments are run", keys: []key{
		{name: "title", form: text, required: true, meaning: "what the campaign is about", example: `"…"`},
		{name: "scope", form: text, required: true, meaning: "what is tested: verdicts speak of this and no more", example: `"pod thruster no. 3"`},
		{name: "seed", form: whole, fallback: "chosen by `fairrun sheet`", meaning: "the same seed draws the same order again", example: "1911"},
		{name: "treatments", form: list, fallback: "all combinations", meaning: "the combinations of levels that are run, a level of each factor", example: `[{prop = "A", nozzle = "short"}, …]`},
		{name: "interactions", form: truth, fallback: "true for 2 or 3 factors", meaning: "whether the effect of one factor may depend on another", example: "false"},
	}, tables: []string{"factor", "block", "session", "items", "specimens", "drift", "order", "response", "log", "signal", "readings", "analysis", "rig", "budget", "simulation"}},

	{head: "[[factor]]", meaning: "what you set on purpose, one [[factor]] each", keys: []key{
		{name: "name", form: text, required: true, meaning: "its column in the run sheet", example: `"weakening"`},
		{name: "unit", form: text, fallback: "none", meaning: "of its levels", example: `"A"`},
		{name: "levels", form: list, required: true, meaning: "numbers are ordered; names stand in quotes", example: "[0, 4, 8]"},
		{name: "baseline", form: setting, fallback: "none", offered: true, meaning: "the setting that the others are compared with, if there is one", example: "0"},
		{name: "hard_to_change", form: truth, fallback: "false", offered: true, meaning: "true: takes long to change; its runs stay together, as whole plots", example: "false"},
	}},

	{head: "[block]", meaning: "what cannot last for all runs; settings are compared within it", keys: []key{
		{name: "name", form: text, fallback: `"` + design.DefaultBlock + `"`, meaning: "a pack charge, a session, a day", example: `"pack"`},
		{name: "plural", form: text, fallback: "the regular plural of `name`", meaning: "what several are called", example: `"packs"`},
		{name: "random", form: truth, fallback: "true", meaning: "true: the verdict holds for packs like these; false: for these alone", example: "true"},
		{name: "count", form: whole, required: true, meaning: "how many packs or sessions there are", example: "4"},
		{name: "replicates", form: whole, fallback: "needed without `runs`", meaning: "runs of each treatment in each one", example: "2"},
		{name: "runs", form: whole, fallback: "needed without `replicates`", meaning: "runs that one lasts, fewer than there are treatments", example: "6"},
	}},

	{head: "[session]", meaning: "blocks lie in sessions, in turn; the last one may hold fewer", keys: []key{
		{name: "name", form: text, fallback: `"` + design.DefaultSession + `"`, meaning: "what one is called", example: `"day"`},
		{name: "blocks", form: whole, required: true, meaning: "how many blocks one session holds; how many sessions there are follows", example: "3"},
		{name: "hours", form: span, most: mostHours, fallback: "no limit", meaning: "the longest that one may take", example: `"6 h"`},
	}},

	{head: "[items]", meaning: "what blocks run on and what comes back, such as packs that are charged again", keys: []key{
		{name: "name", form: text, fallback: `"` + design.DefaultItem + `"`, meaning: `what one is called; [block] may then be a "charge"`, example: `"pack"`},
		{name: "labels", form: list, required: true, meaning: "what is written on each", example: `["P1", "P2", "P3"]`},
	}},

	{head: "[specimens]", meaning: "several of one type, so that the verdict holds for the type; blocks are shared out", offered: "[specimens]", keys: []key{
		{name: "name", form: text, fallback: `"` + design.DefaultSpecimen + `"`, offered: true, meaning: "what one is called", example: `"motor"`},
		{name: "count", form: whole, required: true, offered: true, meaning: "how many of one type are tested", example: "3"},
	}},

	{head: "[drift]", meaning: "what heat and sag do over the runs of a block", keys: []key{
		{name: "model", form: word, words: []string{design.DriftNone, design.DriftLinear, design.DriftQuadratic, design.DriftCurve, design.DriftPosition}, fallback: `"` + design.DriftLinear + `"`,
			meaning: "none, linear, quadratic, curve, or position (any shape, the same in all blocks)", example: `"quadratic"`},
		{name: "own", form: truth, fallback: "false", meaning: "true: each block drifts at its own rate", example: "true"},
	}},

	{head: "[order]", meaning: "more of the order; warm-up and reference runs are runs of the baseline", offered: "[order]", keys: []key{
		{name: "carry_over", form: truth, fallback: "false", offered: true, meaning: "true: each treatment follows each other about equally often", example: "true"},
		{name: "warmup", form: whole, fallback: "none", offered: true, meaning: "runs at the start of each block that are not analysed", example: "1"},
		{name: "reference", form: list, fallback: "none", offered: true, meaning: "positions in each block at which the baseline is run, counted from 1", example: "[2]"},
		{name: "resolution", form: word, words: resolutions, fallback: "no screen", meaning: "factors of two levels: the smallest fraction of this resolution", example: `"IV"`},
		{name: "fraction", form: whole, fallback: "no screen", meaning: "or the best fraction of 4, 8, 16 or 32 runs", example: "16"},
		{name: "plackett_burman", form: whole, fallback: "no screen", meaning: "or the design of 12, 20 or 24 runs", example: "12"},
		{name: "fold_over", form: text, fallback: "none", meaning: `the mirror image too: "all", or one factor, whose levels are exchanged`, example: `"all"`},
		{name: "fold_over_blocks", form: list, fallback: "every block holds both", meaning: "blocks that hold the mirror image; the others hold the runs", example: "[3, 4]"},
	}},

	{head: "[[response]]", meaning: "what you measure, one number a run; one [[response]] each", keys: []key{
		{name: "name", form: text, required: true, meaning: "its column in the run sheet", example: `"spin_up"`},
		{name: "unit", form: text, fallback: "none", meaning: "of its values", example: `"ms"`},
		{name: "better", form: word, words: []string{design.BetterLower, design.BetterHigher}, required: true, meaning: "lower or higher, settled before there are results", example: `"lower"`},
		{name: "margin", form: amount, fallback: "none", offered: true, meaning: "smallest difference that would change a decision", example: `"2%"`},
		{name: "noise", form: amount, fallback: "from `[rig]`", offered: true, meaning: "run-to-run standard deviation you expect; a guess will do", example: `"2%"`},
		{name: "scale", form: word, words: []string{design.ScaleRaw, design.ScaleLog}, fallback: "log with a margin in per cent", meaning: "log: compared by ratios; raw: by differences", example: `"log"`},
	}, tables: []string{"measure"}},

	{head: "[response.measure]", meaning: "how it is measured from a log; without it you enter the values", keys: []key{
		{name: "what", form: word, words: measures, required: true, meaning: "the kind of measure", example: `"transition"`},
		{name: "of", form: text, required: true, meaning: "the signal: a column of [log.columns]", example: `"rpm"`},
		{name: "command", form: text, fallback: "edges are found in the signal", meaning: "the signal whose edges begin the steps; `delay` needs it", example: `"throttle"`},
		{name: "edge", form: word, words: []string{"rising", "falling"}, fallback: `"rising"`, meaning: "which steps are measured", example: `"falling"`},
		{name: "from", form: reference, fallback: "needed by `transition` and `gradient`", meaning: "where it begins: a share of the step or a value", example: `"10%"`},
		{name: "to", form: reference, fallback: "needed by `transition`, `delay` and `gradient`", meaning: "where it ends", example: `"90%"`},
		{name: "within", form: reference, fallback: "needed by `settling`", meaning: "half the width of the band, a share of the step", example: `"2%"`},
		{name: "window", form: sized, fallback: "needed by `slope`", meaning: "over which the steepest line is fitted", example: `"5 ms"`},
		{name: "hold", form: sized, fallback: "needed by `highest`", meaning: "over which the mean is taken", example: `"50 ms"`},
		{name: "where", form: text, fallback: "needed by `value`", meaning: "the signal that has the value `at`", example: `"thrust"`},
		{name: "at", form: sized, fallback: "needed by `value`", meaning: "the value of the signal `where`", example: `"8 N"`},
		{name: "over", form: text, fallback: "needed by `gradient`", meaning: "the signal over which the slope is taken", example: `"thrust"`},
	}},

	{head: "[log]", meaning: "where the logs of runs lie and what stands in them", keys: []key{
		{name: "files", form: text, fallback: "the sheet's column log", meaning: "which log belongs to a run that names none in the sheet; {run} is its number", example: `"logs/{run:02}.csv"`},
	}, tables: []string{"time", "columns"}},

	{head: "[log.time]", meaning: "when a row was taken: a column, or a sample rate", keys: []key{
		{name: "header", form: text, fallback: "needed without `rate`", meaning: "the heading of the column of time", example: `"t"`},
		{name: "unit", form: text, fallback: "the log's own, or s", meaning: "of its numbers: s, ms, µs, min, h", example: `"ms"`},
		{name: "clock", form: truth, fallback: "false", meaning: "true: it holds a time of day, 14:03:21.250", example: "true"},
		{name: "rate", form: sized, fallback: "needed without `header`", meaning: "rows a second, where there is no column of time", example: `"2 kHz"`},
	}},

	{head: "[log.columns.NAME]", meaning: "a signal, under the name by which measures call it", keys: []key{
		{name: "header", form: text, required: true, meaning: "its heading in the log, with or without the unit there", example: `"Speed el."`},
		{name: "unit", form: text, required: true, meaning: `in which it is counted: "rpm", "gf", "%"; "1" for none`, example: `"rpm"`},
		{name: "zero", form: word, words: []string{"start"}, fallback: "none", meaning: "start: the mean before the first command is taken off", example: `"start"`},
		{name: "delay", form: sized, fallback: "none", meaning: "by which the column comes late: a filter, a slow sensor", example: `"4 ms"`},
	}},

	{head: "[[signal]]", meaning: "computed from columns of the log by a formula; one [[signal]] each", keys: []key{
		{name: "name", form: text, required: true, meaning: "by which measures and later formulas call it", example: `"power"`},
		{name: "unit", form: text, fallback: "none", meaning: "in which it is counted; it must fit the formula", example: `"W"`},
		{name: "formula", form: text, required: true, meaning: `+ - * / ^, abs, sqrt, min, max, rate(x, "20 ms"), integral(x), "1e-4 kg·m²"`, example: `"volts * amps"`},
	}},

	{head: "[readings.NAME]", meaning: "limits for what is noted before each run: entering a value outside them warns", offered: "[readings.start_temp]", keys: []key{
		{name: "unit", form: text, fallback: "none", meaning: "of its values", example: `"hPa"`},
		{name: "low", form: number, fallback: "none", meaning: "warn below it", example: "15"},
		{name: "high", form: number, fallback: "none", offered: true, meaning: "warn above it", example: "45"},
	}},

	{head: "[analysis]", meaning: "what is compared, and how sure it must be", keys: []key{
		{name: "alpha", form: chance, fallback: "0.05", meaning: "chance of a false alarm in a family", example: "0.01"},
		{name: "power", form: chance, fallback: "0.9", meaning: "chance to find a difference of the margin", example: "0.8"},
		{name: "compare", form: word, words: []string{design.ComparePairs, design.CompareBaseline, design.CompareBest}, fallback: `"` + design.ComparePairs + `"`,
			meaning: "pairs: all with all; baseline: all with it; best: all with the best", example: `"baseline"`},
		{name: "family", form: word, words: []string{design.FamilyFactor, design.FamilyTable}, fallback: `"` + design.FamilyFactor + `"`,
			meaning: "alpha is for each factor of each response, or for the whole table", example: `"table"`},
		{name: "looks", form: whole, fallback: "1", offered: true, meaning: "times you judge, the end included; more blocks for the same power", example: "2"},
		{name: "spending", form: word, words: []string{string(design.SpendingOBrienFleming), string(design.SpendingPocock)}, fallback: `"` + string(design.SpendingOBrienFleming) + `" with looks`, offered: true,
			meaning: "how looks share alpha: obrien-fleming (late) or pocock (evenly)", example: `"obrien-fleming"`},
		{name: "noise", form: word, words: []string{string(design.NoiseCommon), string(design.NoiseByLevel)}, fallback: `"` + string(design.NoiseCommon) + `"`, offered: true,
			meaning: "common: all levels scatter alike; by_level: each is judged by its own", example: `"common"`},
		{name: "covariates", form: list, fallback: "none", offered: true, meaning: "what is noted before a run and adjusted for", example: `["start_temp"]`},
	}},

	{head: "[rig]", meaning: `the bench; "fairrun verdict --save-noise" keeps what it was measured to scatter`, offered: "[rig]", keys: []key{
		{name: "name", form: text, fallback: `"` + defaultRig + `"`, offered: true, meaning: "what it is called", example: `"tank 2"`},
		{name: "noise_file", form: text, required: true, offered: true, meaning: "the file that keeps its noise, seen from this folder; plans start from it", example: `"../noise.toml"`},
	}},

	{head: "[budget]", meaning: "what one block can spend and what a run takes; sheet adds up packs and hours", offered: "[budget]", keys: []key{
		{name: "capacity", form: quantity, measures: capacityUnits, fallback: "a supply that lasts", offered: true, meaning: "of a full pack; leave it out on a bench supply", example: `"5 Ah"`},
		{name: "usable", form: share, fallback: `"80%"`, offered: true, meaning: "share of it that the maker's floor voltage leaves you", example: `"80%"`},
		{name: "load", form: quantity, measures: loadUnits, fallback: "needed with `capacity`, or `use`", offered: true, meaning: "mean of a run", example: `"10 A"`},
		{name: "use", form: quantity, measures: capacityUnits, fallback: "load over the time of a run", meaning: "or what the whole of a run takes", example: `"0.2 Ah"`},
		{name: "run", form: span, most: mostTime, required: true, offered: true, meaning: "how long one run takes", example: `"40 s"`},
		{name: "rest", form: span, most: mostTime, fallback: "none", offered: true, meaning: "between runs", example: `"3 min"`},
		{name: "rest_until", form: quantity, unit: "of start_temp", fallback: "none", offered: true, meaning: "start_temp to cool down to; rest is then about how long it takes", example: `"35 °C"`},
		{name: "swap", form: span, most: mostTime, fallback: "none", offered: true, meaning: "from one block to the next", example: `"8 min"`},
		{name: "hours", form: span, most: mostHours, fallback: "no limit", meaning: "the longest that the campaign may take at the bench", example: `"20 h"`},
	}, tables: []string{"changeover"}},

	{head: "[budget.changeover]", meaning: "how long factors take to change", keys: []key{
		{name: "FACTOR", form: span, most: mostTime, fallback: "none", meaning: "to change this factor from one level to another", example: `"5 min"`},
	}},

	{head: "[simulation]", meaning: "the bench that fairrun rehearse tries the plan on; draw and verdict know nothing of it", keys: []key{
		{name: "ambient", form: temperature, least: -60, most: 100, unit: "°C", fallback: `"20 °C"`, meaning: "of what cools the motor", example: `"20 °C"`},
		{name: "heat", form: temperature, least: 0, most: 300, unit: "K", fallback: `"40 K"`, meaning: "above that, at which a cold motor's losses would settle", example: `"40 K"`},
		{name: "warm_up", form: span, most: mostTime, fallback: `"4 min"`, meaning: "time constant of the winding", example: `"4 min"`},
		{name: "run", form: span, most: mostTime, fallback: `that of the budget, or "30 s"`, meaning: "how long one run takes", example: `"40 s"`},
		{name: "rest", form: span, most: mostTime, fallback: `that of the budget, or "1 min"`, meaning: "before a run", example: `"3 min"`},
		{name: "swap", form: span, most: mostTime, fallback: `that of the budget, or "10 min"`, meaning: "before the first run of a block; a session begins on a cold bench", example: `"8 min"`},
		{name: "sag", form: portion, most: 0.5, fallback: `"16%"`, meaning: "of a full pack's voltage that is gone once it is empty", example: `"12%"`},
		{name: "drop", form: portion, most: 0.3, fallback: `"4%"`, meaning: "of a full pack's voltage lost under load", example: `"6%"`},
		{name: "used", form: portion, most: 1, fallback: `that of the budget, or "80%"`, meaning: "of its charge that a block takes from a pack", example: `"70%"`},
		{name: "pack_scatter", form: portion, most: 0.3, fallback: `"4%"`, meaning: "of capacity and resistance between packs, a standard deviation", example: `"2%"`},
		{name: "failures", form: portion, most: 0.5, fallback: `"1%"`, meaning: "runs that fail", example: `"3%"`},
		{name: "outliers", form: portion, most: 0.5, fallback: `"1%"`, meaning: "runs that stray", example: `"2%"`},
		{name: "outlier_size", form: bounded, least: 1, most: 100, fallback: "4", meaning: "by so many times the noise", example: "6"},
		{name: "interplay", form: portion, most: 10, fallback: `"50%"`, meaning: "of the noise by which specimens or packs answer differently to a level", example: `"50%"`},
	}, tables: []string{"current", "response"}},

	{head: "[simulation.current]", meaning: "factors that change the current", keys: []key{
		{name: "FACTOR", form: list, fallback: "all alike", meaning: "current of each level, relative to any one current", example: "[1, 1.05, 1.1]"},
	}},

	{head: "[simulation.response.NAME]", meaning: "how a response answers to the bench", keys: []key{
		{name: "volts", form: bounded, least: -10, most: 10, fallback: "-1 where lower is better, otherwise 1", meaning: "goes with the voltage to this power", example: "-1.5"},
		{name: "copper", form: bounded, least: -10, most: 10, fallback: "0.5 where lower is better, otherwise -0.5", meaning: "and with the winding's resistance to this", example: "0"},
		{name: "mean", form: bounded, least: 1e-12, most: 1e12, unit: "of the response", fallback: "from noise or margin", meaning: "of the response, where it is compared in its unit", example: "120"},
		{name: "noise", form: amount, fallback: "of the plan, or 1.5 %", meaning: "run-to-run standard deviation", example: `"1.2%"`},
		{name: "difference", form: amount, fallback: "the margin", meaning: "true difference, to be found", example: `"3%"`},
	}},
}

// noiseKeys are all keys of a noise record.
var noiseKeys = []tableKeys{
	{head: noiseHead, tables: []string{"campaign"}},
	{head: "[[campaign]]", keys: []key{{name: "title", form: text}, {name: "scope", form: text}, {name: "seed", form: whole}}, tables: []string{"response"}},
	{head: "[[campaign.response]]", keys: []key{
		{name: "name", form: text}, {name: "unit", form: text}, {name: "relative", form: truth}, {name: "mean", form: number},
		{name: "sd", form: number, meaning: "from run to run"}, {name: "sd_low", form: number}, {name: "sd_high", form: number},
		{name: "df", form: number, meaning: "degrees of freedom behind it"},
	}, tables: []string{"components"}},
	{head: "components", keys: []key{{name: "name", form: text}, {name: "sd", form: number}}},
}
