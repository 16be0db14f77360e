// Package verdict answers a bench tester's question: which differences are
// real, which are too small to matter, and which the data cannot settle.
//
// [Analyse] takes [Data] (one row a run) and a [Request] (the treatments, the
// blocks, what was measured, the margins) and returns a [Verdict], whose JSON
// form is [Schema]. Read analyse.go first.
//
// The model is response ~ blocks + covariates + treatments (+ interactions)
// by least squares ([fairrun/stats/linmod]); the comparisons and their words
// come from [fairrun/stats/compare], the checks from [fairrun/stats/check].
// A response on the log scale is analysed as its logarithm, so that a relative
// margin compares ratios.
//
// Data that cannot support a number never yield one: the [Number] is unknown,
// null in JSON, and a [Check] says in words why.
package verdict
