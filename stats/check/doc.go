// Package check asks whether the data bear the model's assumptions, and
// offers tests that lean on fewer of them.
//
// In: the values of each level as groups, or the residuals of a fit in run
// order with what the fit knows of them (leverages, an orthonormal basis).
// Out: small plain structs, most of them a [Result], each with a p-value that
// is a true upper tail, accurate far below 1e-16.
//
// Assumptions: [ShapiroWilk] (normality); [BrownForsythe], [HinesHines] (few
// runs a group) and [Bartlett] (equal spread); [Outliers] (stray runs);
// [RunsTest] and [DurbinWatson] (independence in run order).
//
// Alternatives: [Welch] and [GamesHowell] where spreads differ,
// [KruskalWallis] and [Dunn] where normality fails, [Friedman] for ranks
// within blocks.
//
// Counts: [ClopperPearson] and [Wilson] for a chance of failing, [Fisher] for
// failures that depend on the level. Many p-values at once: [Holm] and
// [BenjaminiHochberg].
//
// Throughout, n is a number of values, k of groups, p (or P) a p-value, df
// degrees of freedom, se a standard error, and alpha the chance of a false
// statement. NaN marks a missing value, as on rows that a fit left out, and is
// passed over; an infinite value is [ErrInfinite]. A group without values is
// passed over too. Data that cannot support the question give an error that
// says why; a panic means that arguments do not fit each other. Inputs are
// never changed.
//
// Read result.go first, then the file of a test, such as welch.go.
package check
