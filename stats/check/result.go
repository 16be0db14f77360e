package check

// Result is the outcome of one test. P is the chance of a statistic at least
// as extreme when there is nothing to find.
//
// The law of the statistic is F(DF1, DF2), or chi-squared with DF1 degrees of
// freedom when DF2 is 0. Both are 0 when the law has no degrees of freedom.
type Result struct {
	Statistic float64
	DF1, DF2  float64
	P         float64
}
