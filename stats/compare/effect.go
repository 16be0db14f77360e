package compare

import (
	"math"

	"fairrun/stats/law"
)

// HedgesG is a difference in units of the noise, freed of small-sample bias,
// with its interval.
type HedgesG struct{ G, Low, High float64 }

// Standardise returns Hedges' g of a difference with standard error se, where
// sd is the noise with df degrees of freedom:
//
//	g = J(df)·difference/sd,  J(df) = Γ(df/2) / (√(df/2)·Γ((df−1)/2))
//
// The interval is that of the standardised difference δ itself, which g estimates:
// it inverts the noncentral t at the two-sided level alpha, without J. With
// alpha the level that the family leaves to one comparison (see [Level]), the
// interval is clear of zero exactly when the simultaneous interval of the
// difference is.
//
// Source: Hedges 1981, Journal of Educational Statistics 6; interval by
// Steiger & Fouladi 1997. Accuracy: that of [law.NoncentralT].
func Standardise(difference, se, sd, df, alpha float64) HedgesG {
	scale := se / sd
	t := difference / se
	low := law.NoncentralTDelta(df, t, alpha/2)
	high := law.NoncentralTDelta(df, t, 1-alpha/2)
	return HedgesG{G: correction(df) * t * scale, Low: low * scale, High: high * scale}
}

// correction is J(df), which makes g unbiased; 1 in the limit of many df.
func correction(df float64) float64 {
	if df <= 1 {
		return math.NaN()
	}
	a, _ := math.Lgamma(df / 2)
	b, _ := math.Lgamma((df - 1) / 2)
	return math.Exp(a-b) / math.Sqrt(df/2)
}

// Level is the two-sided level that a critical value of the family leaves to
// one comparison: 2·P(T > critical).
func Level(critical, df float64) float64 {
	return 2 * law.T{DF: df}.Survival(critical)
}

// EtaSquaredPartial is the share of a term's and the residual sum of squares
// that the term explains: ssTerm / (ssTerm + ssResidual).
func EtaSquaredPartial(ssTerm, ssResidual float64) float64 {
	return ssTerm / (ssTerm + ssResidual)
}

// OmegaSquared estimates the share of all variance that a term explains,
// freed of most of eta's bias, and is 0 where the estimate is negative:
//
//	(ssTerm − dfTerm·msResidual) / (ssTotal + msResidual)
//
// Source: Hays 1963, Statistics for Psychologists.
func OmegaSquared(ssTerm, dfTerm, msResidual, ssTotal float64) float64 {
	return max(0, (ssTerm-dfTerm*msResidual)/(ssTotal+msResidual))
}
