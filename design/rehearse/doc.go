// Package rehearse tries a plan on a simulated bench before hardware is used: a motor whose winding
// heats with each run and cools in each rest, on packs whose voltage falls as they empty.
//
// In: a plan, a seed and a number of campaigns. Out: a [Rehearsal], which says how often each order
// would call a difference where there is none, and how often it would find one as large as the
// margin. Start at [Rehearse], then read engine.go.
//
// [Rehearse] runs the plan thousands of times, each time in an order freshly drawn by the plan's own
// rule. Beside it stand the same runs sorted by level, and in plain random order. [Simulator] is the
// bench itself, which also makes the data of the demonstration: the physics of a [Bench], what each
// treatment does to each [Response], and a seed give what a person would note before each run and
// measure after it.
//
// # The same verdict
//
// A rehearsal judges every campaign as package verdict does, by package judge. The model is the plan's,
// and its columns are those that package analysis makes of a sheet. Failed runs are left out.
// A difference that the model holds moves no estimate but its own, so that an order is fitted once for
// both truths.
//
// Where a plan has several looks a campaign is judged at each, at the level that the looks before
// leave to it, until no comparison of the family is left open. A comparison counts as it stood where
// it was settled, or else at the end. Beside it stands what comes of judging each look as if it were
// the only one.
//
// # The bench
//
// The physics are common practice, without source: first-order heating and cooling of the winding,
// copper's resistance rising 0.39 % per kelvin, and a pack whose open-circuit voltage falls in
// proportion to the charge drawn, less the drop over its internal resistance. Noise is normal, now and
// then with a larger standard deviation (Tukey's contaminated normal, 1960). Specimens of one type
// answer each level differently, by independent normal numbers. Before a run a person notes the
// voltage and the winding's temperature, to the digits that instruments show. What else a plan has
// noted is noise that has to do with nothing.
//
// Read rehearse.go first, then engine.go and bench.go.
package rehearse
