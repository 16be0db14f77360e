// Package law holds the laws that a verdict is read from, with both tails as
// accurate as the number they are printed with deserves.
//
// A law is a literal, and its methods are the questions:
//
//	law.F{D1: 3, D2: 20}.Survival(9.72)
//	law.StudentizedRange{Groups: 5, DF: 20}.UpperQuantile(0.05)
//
// # Questions
//
// Every law answers four of them. CDF(x) is P(X ≤ x). Survival(x) is P(X > x),
// computed as a tail of its own and never as 1 - CDF, so that a probability of
// 1e-40 has as many correct digits as one of 0.4. Quantile(p) is the x with
// CDF(x) = p, UpperQuantile(p) the x with Survival(x) = p; ask for the one whose p is
// small. A critical value at level alpha is UpperQuantile(alpha).
//
// # Letters
//
// DF, D1 and D2 are degrees of freedom: any positive real number, and +Inf
// where the limit is a law (T with DF = +Inf is the standard normal law).
// Delta and Lambda are noncentralities, p is a probability, x a value of the law.
//
// # Special cases
//
// A NaN argument, a probability outside [0, 1] and a parameter outside its
// domain (DF ≤ 0, a negative Lambda, NaN) give NaN. x below the support
// gives CDF 0 and Survival 1, x = +Inf the reverse. Only a mistake in shape (no
// loadings, a correlation matrix that is none) panics, with a text that starts
// with "law: ".
//
// # Methods and accuracy
//
// Incomplete beta and gamma functions: Didonato and Morris (1992), ACM
// Transactions on Mathematical Software 18, 360-373, with the leading factor in
// the saddle-point form of Loader (2000), "Fast and Accurate Computation of
// Binomial Probabilities". gonum's distuv.F computes Survival as 1 - CDF, its
// mathext.RegIncBeta is off by up to 3e-4, and none of them gives the logarithm
// of a tail, which quantiles and mixtures far out need: see TestGonumTails.
//
// Laws of maxima and noncentral t are mixtures over the estimated standard deviation, by
// the trapezoidal rule; noncentral F and chi-squared are Poisson mixtures. The file of
// each says more.
//
// Each law states the accuracy that it reaches; the file testdata/NAME.csv
// holds the values that show it, made with mpmath by the scripts beside them, and
//
//	go test ./stats/law -run Accuracy -v
//
// prints the digits reached over each of them and compares them with docs/accuracy.md.
//
// Read t.go first, then curve.go and the file of a law.
package law
