// Package compare turns estimated differences into simultaneous statements.
//
// In: differences between adjusted means with their standard errors and
// degrees of freedom. Out: intervals that hold together over a [Family] of
// comparisons, adjusted p-values, standardised effects, and one [Word] for
// each comparison against zero and the margin.
//
// Throughout, alpha is the chance that the family makes any false statement,
// se a standard error, df its degrees of freedom, and t the difference over
// its standard error.
//
// Sources: Tukey 1953 and Kramer 1956 (all pairs), Dunnett 1955 and 1964
// (against a baseline), Hsu 1984 (with the best), Genz & Bretz 1999 (chosen
// contrasts), Hedges 1981 (standardised difference), Fieller 1954 (ratio of
// means).
//
// Read family.go first, then word.go.
package compare
