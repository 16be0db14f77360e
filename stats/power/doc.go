// Package power says, before and after a campaign, how many runs it takes to
// tell a difference that matters from noise.
//
// In: what is compared ([Test]: a [compare.Family] and its error rate), what
// would matter ([Target]: the margin, the noise, the power asked for) and what
// a campaign of some size offers ([Precision], made by a [Design] or known
// from results). Out: the power reached, the smallest size that reaches the
// power asked for, the smallest difference a size can find, the chance of each
// verdict, and the critical values of interim looks.
//
//	c := power.Test{Family: compare.Pairs{Levels: 4}, Alpha: 0.05}
//	t := power.Target{Margin: 2, Noise: power.Scatter{SD: 1.5}, Power: 0.9}
//	d := power.Design{Treatments: 4, Blocks: 1, Replicates: 2, Drift: 1}
//	answer, err := c.Needed(t, d.ByBlocks(), 40)
//
// Power is always that of one given comparison: the chance that its
// simultaneous interval, which is the one the verdict uses, is clear of zero
// when its true difference is the margin. It is not the chance of finding
// every difference of a family, nor that of finding at least one.
//
// Throughout, alpha is the chance that the family makes any false statement,
// sd the noise (run-to-run standard deviation, in the response's unit), df its
// residual degrees of freedom, and se a standard error. Margins, differences and
// noise share one unit; for a response judged on the log scale all are
// differences of logs, so that a margin of 2 % is log(1.02). Degrees of freedom
// are at least 1; +Inf stands for noise that is known.
//
// All probabilities are exact to rounding: noncentral t and F laws, and
// Gauss–Legendre quadrature over the law of the estimated noise; no answer rests
// on a normal approximation or on simulation. Power, words and assurance agree
// with 30-digit quadrature to 1e-11, the levels of looks to 1e-10 relative (see testdata).
//
// Sources: Cohen 1988, Statistical Power Analysis for the Behavioral Sciences;
// Browne 1995, Statistics in Medicine 14, 1933–1940, and Julious & Owen 2006,
// Pharmaceutical Statistics 5, 29–37 (noise that is itself an estimate);
// Schuirmann 1987, Journal of Pharmacokinetics and Biopharmaceutics 15, 657–680
// (equivalence); Armitage, McPherson & Rowe 1969, Journal of the Royal
// Statistical Society A 132, 235–244, Lan & DeMets 1983, Biometrika 70,
// 659–663, and Jennison & Turnbull 2000, Group Sequential Methods (looks).
//
// Read planned.go first, then precision.go.
package power
