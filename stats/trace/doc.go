// Package trace turns the time stamps and values of one run into measures with a
// standard uncertainty, or into a refusal with its reason.
//
// In: a [Signal], one column of a log with its stamps, and a [Definition], what is to be
// measured. Out: a [Value]. [Prepare] makes a signal ready once, [Measure] measures it:
//
//	speed, command := trace.Prepare(rpm), trace.Prepare(throttle)
//	spinUp, err := trace.Measure(
//		trace.Definition{What: trace.Transition, From: trace.Share(0.1), To: trace.Share(0.9)},
//		trace.Run{Of: speed, Command: command})
//
// Read definition.go first, then step.go: [Steps] is the one finder of steps that all
// measures use, and crossing.go reads an instant off a step.
//
// # Terms
//
// A step leads from one state to another. T is its duration from 10 to 90 %, σ the noise of
// a state about its line, F the factor by which correlation raises the variance of a
// mean, u a standard uncertainty, q the quantum. Times are in s; shares of the step run from 0 at
// the level before to 1 at the level after. Terms are those of IEEE 181-2011. Where that
// takes levels from the mode of a histogram, this package fits a settled line and
// reads it at the 50 % instant: noise, sag and dropouts move it less.
//
// # Uncertainty
//
// u is half of the 95 % interval over 1.96, with Student's t where degrees of freedom are
// few, so that value ± 1.96 u covers the truth in 95 % of logs. Errors with a bound,
// such as the phase of the rows, are rectangular (GUM, JCGM 100:2008); where they dominate, the
// interval covers more. docs/measures.md shows bias, spread and coverage of every measure by
// simulation.
//
// What the log cannot carry is refused: no step, too few rows on the edge, a gap in it, a
// state that ends too early, saturation. Several steps of one log give their mean. They are
// no replicates, so that their spread is kept apart.
package trace
