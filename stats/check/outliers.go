package check

import (
	"fmt"
	"math"

	"fairrun/stats/law"
)

// Studentised holds externally studentised residuals, one entry a row of the
// fit. Rows that were not tested hold NaN: those that the fit left out, and
// those it must reproduce exactly (leverage 1), which cannot stand out.
type Studentised struct {
	T        []float64 // residual over its standard error as judged by all the other rows
	P        []float64 // two-sided, of this row alone
	Adjusted []float64 // P times the number of rows tested, at most 1 (Bonferroni)
	DF       float64   // of T
	Tested   int       // rows tested
	Worst    int       // row with the largest |T|
}

// leverageOne: a row with less than this of its own residual left is
// reproduced by the fit. What remains is rounding.
const leverageOne = 1e-10

// Outliers tests each run of a linear model against all the others: the
// t statistic of a parameter that would lift out this one row,
//
//	rᵢ = eᵢ/√(s²(1−hᵢ)),  tᵢ = rᵢ·√((df−1)/(df − rᵢ²))
//
// with df−1 degrees of freedom, eᵢ the residual, hᵢ the leverage, s² = sigma2
// the residual mean square with df degrees of freedom. Two residuals that the
// model ties together (a level with two runs) have the same |t|: the data
// cannot tell which of them strayed.
//
// A row that alone holds all the noise has T = ±Inf and P = 0. [ErrNoDF] unless
// df ≥ 2, [ErrExactFit] when sigma2 is 0, [ErrTooFew] when no row can be tested.
// Panics when residuals and leverages differ in length.
//
// Source: Belsley, Kuh & Welsch 1980, Regression Diagnostics, chapter 2;
// Bonferroni bound: Cook & Weisberg 1982, section 2.2.2. Agrees with R's
// rstudent and car::outlierTest to 1e-10 relative.
func Outliers(residuals, leverages []float64, sigma2 float64, df int) (*Studentised, error) {
	if len(residuals) != len(leverages) {
		panic("check: Outliers needs one leverage a residual")
	}
	if df < 2 {
		return nil, fmt.Errorf("%w: judging a run by the others needs 2, there are %d", ErrNoDF, df)
	}
	if !(sigma2 > 0) {
		return nil, ErrExactFit
	}
	n := len(residuals)
	s := &Studentised{T: make([]float64, n), P: make([]float64, n), Adjusted: make([]float64, n), DF: float64(df - 1), Worst: -1}
	law := law.T{DF: s.DF}
	for i, e := range residuals {
		if math.IsInf(e, 0) {
			return nil, ErrInfinite
		}
		s.T[i], s.P[i], s.Adjusted[i] = math.NaN(), math.NaN(), math.NaN()
		left := 1 - leverages[i]
		if math.IsNaN(e) || !(left > leverageOne) {
			continue
		}
		s.T[i] = externally(e/math.Sqrt(sigma2)/math.Sqrt(left), float64(df))
		s.P[i] = min(1, 2*law.Survival(math.Abs(s.T[i])))
		s.Tested++
		if s.Worst < 0 || math.Abs(s.T[i]) > math.Abs(s.T[s.Worst]) {
			s.Worst = i
		}
	}
	if s.Tested == 0 {
		return nil, fmt.Errorf("%w: no run can be judged by the others", ErrTooFew)
	}
	for i, p := range s.P {
		s.Adjusted[i] = min(1, float64(s.Tested)*p) // NaN stays
	}
	return s, nil
}

// externally turns an internally studentised residual with df degrees of
// freedom into an external one. r² reaches df when the row holds all the noise;
// past that by rounding only.
func externally(r, df float64) float64 {
	left := (math.Sqrt(df) - r) * (math.Sqrt(df) + r)
	if left <= df*1e-14 {
		return math.Copysign(math.Inf(1), r)
	}
	return r * math.Sqrt((df-1)/left)
}
