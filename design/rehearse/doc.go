// Package rehearse tries a plan on a simulated bench before hardware is used: a motor whose winding
// heats with each run and cools in each rest, on packs whose voltage falls as they empty.
//
// [Rehearse] takes a plan and runs it thousands of times, each time in an order freshly drawn
// by the plan's own rule, and beside it the same runs sorted by level and in plain random order. It
// says how often each would call a difference where there is none, and how often it would find
// one as large as the margin.
//
// [Campaign] is the bench itself, which also makes the data of the demonstration: the physics of a
// [Bench], what each treatment does to each [Response], and a seed give, for each run in the
// order done, what a person would note before it and measure after it.
//
// # The same verdict
//
// A rehearsal judges every campaign as package verdict does: the model is that of the plan, its columns
// those that package analysis makes of a sheet, with blocks, drift, covariates and treatments; where something is
// random (units, whole plots, incomplete blocks) by REML. The intervals are the simultaneous ones of package
// compare, failed runs left out. What it leaves out is what the words do not rest on (p-values, effect sizes, checks). An
// order is fitted once for all its responses and for both truths: a difference that the model holds moves no estimate but its own.
// Intervals and words are those of verdict.Analyse to 1e-9, for all pairs exactly so, and to 2e-4 where
// something is random; against the baseline and with the best the critical value,
// which there depends on the order drawn, is taken from equal correlations with
// the same mean, and lies within a few thousandths of the exact one.
//
// Where a plan has several looks a campaign is judged at each, at the level that the looks before leave to it, until no
// comparison of the family is left open. A comparison counts as it stood where it was settled, or else at the end. Beside
// it stands what comes of judging each look as if it were the only one.
//
// # The bench
//
// The physics are common practice, without source: first-order heating and cooling of the winding,
// copper's resistance rising 0.39 % per kelvin, a pack whose open-circuit voltage falls in
// proportion to the charge drawn, less the drop over its internal resistance. Noise is
// normal, now and then with a larger standard deviation (Tukey's contaminated normal, 1960). Units of one type
// answer each level differently, by independent normal numbers. Before a run a person notes the voltage and the winding's
// temperature, to the digits that instruments show; what else a plan has noted is noise that has to do with nothing.
package rehearse
