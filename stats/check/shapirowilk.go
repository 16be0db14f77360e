package check

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"fairrun/stats/law"
)

// Sizes that [ShapiroWilk] is calibrated for.
const (
	ShapiroWilkMin = 3
	ShapiroWilkMax = 5000
)

// Polynomials of Royston 1995, constant term first: c1 and c2 correct the two
// outermost weights (in 1/√n); c3 and c4 give mean and log standard deviation
// of −log(γ−log(1−W)) for n ≤ 11 (in n), with γ from royston γ; c5 and c6
// those of log(1−W) for n ≥ 12 (in log n).
var (
	roystonC1    = []float64{0, 0.221157, -0.147981, -2.071190, 4.434685, -2.706056}
	roystonC2    = []float64{0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633}
	roystonC3    = []float64{0.5440, -0.39978, 0.025054, -6.714e-4}
	roystonC4    = []float64{1.3822, -0.77857, 0.062767, -0.0020322}
	roystonC5    = []float64{-1.5861, -0.31082, -0.083751, 0.0038915}
	roystonC6    = []float64{-0.4803, -0.082676, 0.0030302}
	roystonGamma = []float64{-2.273, 0.459}
)

// ShapiroWilk tests whether values may come from one normal law:
//
//	W = (Σ aᵢ x₍ᵢ₎)² / Σ (xᵢ − x̄)²
//
// with x₍ᵢ₎ the sorted values and aᵢ Royston's approximation to the best
// weights. W is 1 for values that lie as normal ones do on average; a small P
// speaks against normality. The residuals of a fit may be used in place of
// values: their mild dependence leaves the level about right unless parameters
// outnumber a third of the runs.
//
// 3 to 5000 values, otherwise [ErrTooFew] or [ErrTooMany]; [ErrConstant] when
// all are equal. Ties lower W: values read off a coarse display look less
// normal than what was measured. DF1 and DF2 are 0.
//
// Source: Royston 1995, Algorithm AS R94, Applied Statistics 44, 547–551. W and P
// agree with R's shapiro.test to 1e-10 relative; P itself is Royston's
// approximation, good to about its second digit.
func ShapiroWilk(x []float64) (Result, error) {
	x, err := present(x)
	if err != nil {
		return Result{}, err
	}
	n := len(x)
	switch {
	case n < ShapiroWilkMin:
		return Result{}, fmt.Errorf("%w: normality needs %d, there are %d", ErrTooFew, ShapiroWilkMin, n)
	case n > ShapiroWilkMax:
		return Result{}, fmt.Errorf("%w: normality is judged on at most %d, there are %d", ErrTooMany, ShapiroWilkMax, n)
	}
	slices.Sort(x)
	spread := x[n-1]/2 - x[0]/2 // half the range: the range itself may overflow
	if spread == 0 {
		return Result{}, ErrConstant
	}
	// On centred and scaled values W neither overflows nor loses digits.
	centre := x[n/2]
	mean := 0.0
	for i := range x {
		x[i] = (x[i]/2 - centre/2) / spread
		mean += x[i]
	}
	mean /= float64(n)

	a := roystonWeights(n) // of the upper half; the lower half is its mirror image
	var sax, ssx float64
	ssa := 0.0
	for i, w := range a {
		sax += w * (x[n-1-i] - x[i])
		ssa += 2 * w * w
	}
	for _, v := range x {
		ssx += (v - mean) * (v - mean)
	}
	// 1−W as a product keeps its digits where W is close to 1.
	root := math.Sqrt(ssa * ssx)
	oneMinusW := max(0, (root-sax)*(root+sax)/(ssa*ssx))
	return Result{Statistic: 1 - oneMinusW, P: roystonP(oneMinusW, n)}, nil
}

// roystonWeights returns the weights of x₍ₙ₎, x₍ₙ₋₁₎ … down to the middle.
func roystonWeights(n int) []float64 {
	half := n / 2
	a := make([]float64, half)
	if n == 3 {
		a[0] = math.Sqrt(0.5)
		return a
	}
	sum2 := 0.0 // m'm of the expected normal order statistics
	for i := range a {
		a[i] = -mathext.NormalQuantile((float64(i) + 1 - 0.375) / (float64(n) + 0.25))
		sum2 += 2 * a[i] * a[i]
	}
	u := 1 / math.Sqrt(float64(n))
	first := polynomial(roystonC1, u) + a[0]/math.Sqrt(sum2)
	if n <= 5 {
		scale := math.Sqrt((sum2 - 2*a[0]*a[0]) / (1 - 2*first*first))
		for i := range a {
			a[i] /= scale
		}
		a[0] = first
		return a
	}
	second := polynomial(roystonC2, u) + a[1]/math.Sqrt(sum2)
	scale := math.Sqrt((sum2 - 2*a[0]*a[0] - 2*a[1]*a[1]) / (1 - 2*first*first - 2*second*second))
	for i := range a {
		a[i] /= scale
	}
	a[0], a[1] = first, second
	return a
}

// roystonP is the chance of a W this small or smaller. For n = 3 it is exact.
// γ − log(1−W) is positive throughout: γ exceeds 0 from n = 5 on, and at n = 4
// W cannot fall below 0.6.
func roystonP(oneMinusW float64, n int) float64 {
	nf := float64(n)
	if n == 3 {
		return min(1, max(0, 6/math.Pi*(math.Asin(math.Sqrt(1-oneMinusW))-math.Asin(math.Sqrt(0.75)))))
	}
	if oneMinusW == 0 {
		return 1
	}
	y := math.Log(oneMinusW)
	var mean, sd float64
	if n <= 11 {
		y = -math.Log(polynomial(roystonGamma, nf) - y)
		mean = polynomial(roystonC3, nf)
		sd = math.Exp(polynomial(roystonC4, nf))
	} else {
		l := math.Log(nf)
		mean = polynomial(roystonC5, l)
		sd = math.Exp(polynomial(roystonC6, l))
	}
	return normal.Survival((y - mean) / sd)
}

// normal is the standard normal law.
var normal = law.T{DF: math.Inf(1)}

// polynomial evaluates c[0] + c[1]·x + c[2]·x² + … .
func polynomial(c []float64, x float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}
