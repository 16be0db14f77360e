// Package judge gives the words of a verdict for one order of runs and many responses, fast: what a
// rehearsal of thousands of campaigns needs.
//
// In: a [Model] that all campaigns have in common, the treatment of each run of an order, the runs
// that are good, and one response after another. Out: the [Interval] of each comparison with its
// word, and whether a family holds any difference. Start at [LeastSquares], then [Reading].
//
// # The same laws as the verdict's
//
// An order is fitted once for all its responses: by [LeastSquares] where blocks, drift, covariates
// and treatments are all there is, otherwise by [General], with the packages that the verdict fits
// by. What is read off the estimates follows the same functions as package verdict: the families
// and their intervals with the best of package compare, the looks of package power, what takes over
// where REML fails of package mixed. P-values, effect sizes and checks are left out, since no word
// rests on them.
//
// Intervals and words are those of verdict.Analyse to 1e-9 of the half width, and to 2e-4 where
// something is random, since its degrees of freedom are no whole numbers and critical values are
// interpolated. Against the baseline and with the best the critical value depends on the order. It
// is taken from equal correlations with the same mean, and lies within a few thousandths of the
// exact one for plans as they are drawn (TestInterpolatedCriticalValue). In campaigns of a dozen runs
// that lost many of them it was off by up to a tenth, with random factors of few levels by
// up to 0.3 (TestJudgeIsTheVerdict). Comparisons within whole plots and across them are judged by fewer points than the
// verdict takes, or by a table where whole plots are alike. That moves the ends of an interval by up to 3.5 % of the half width
// ([law.FewPivotPoints], TestBalancedCriticals).
//
// Where runs cannot distinguish an interaction from blocks or drift the verdict compares combinations without it;
// here they are then not compared.
//
// Where the table is one family, other factors of the table are taken with a correlation of ½ against the baseline, and
// all levels to have runs. Where something is random the verdict gives each family an equal share of alpha, which is a little
// less than the table's law does here.
//
// Throughout, a slot is a place in the order, counted through the blocks; i, j and k are levels of
// a factor, df degrees of freedom.
//
// Read model.go first, then leastsquares.go.
package judge
