package linmod_test

import (
	"fmt"
	"math"

	"fairrun/stats/linmod"
)

// A pod thruster spins up with three field-weakening currents on two packs. The
// second pack was flat after four runs; one run on it failed to start.
func Example() {
	m := linmod.Model{
		Blocks: []linmod.Factor{{Name: "pack", Levels: []string{"1", "2"},
			Code: []int32{0, 0, 0, 0, 0, 0, 1, 1, 1, 1}}},
		Factors: []linmod.Factor{{Name: "weakening", Levels: []string{"0", "4", "8"},
			Code: []int32{0, 1, 2, 2, 1, 0, 1, 0, 2, 0}}},
	}
	spinUp := []float64{412, 405, 391, 393, 404, 414, 399, 407, math.NaN(), 410}

	r, err := linmod.Fit(m, spinUp)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, row := range r.ANOVA() {
		fmt.Printf("%-9s  df %d  ss %7.3f\n", row.Name, row.DF, row.SS)
	}
	means, err := r.Means(0)
	if err != nil {
		fmt.Println(err)
		return
	}
	for k, mean := range means.All().Value {
		fmt.Printf("%s A: %.2f ms, %d runs\n", m.Factors[0].Levels[means.Levels[k][0]], mean, means.N[k])
	}
	// R's Anova(type = 2) and emmeans say the same.
	//
	// Output:
	// pack       df 1  ss  40.017
	// weakening  df 2  ss 506.100
	// residual   df 5  ss   9.400
	// 0 A: 410.75 ms, 4 runs
	// 4 A: 401.85 ms, 3 runs
	// 8 A: 389.55 ms, 2 runs
}

// The difference between two levels and its standard error.
func ExampleMeans_Contrasts() {
	m := linmod.Model{Factors: []linmod.Factor{{Name: "prop", Levels: []string{"A", "B"}, Code: []int32{0, 1, 0, 1, 0, 1}}}}
	thrust := []float64{81, 84, 79, 86, 80, 85}
	r, err := linmod.Fit(m, thrust)
	if err != nil {
		fmt.Println(err)
		return
	}
	means, err := r.Means(0)
	if err != nil {
		fmt.Println(err)
		return
	}
	e := means.Contrasts([][]float64{{-1, 1}})
	if !e.Estimable[0] {
		fmt.Println("the runs cannot tell")
		return
	}
	fmt.Printf("B - A: %.2f N, standard error %.2f N on %d df\n", e.Value[0], math.Sqrt(e.Cov.At(0, 0)*r.Sigma2), r.DF)
	// Output: B - A: 5.00 N, standard error 0.82 N on 4 df
}

// Weights for the linear and the quadratic trend over unevenly spaced levels.
func ExamplePolynomialContrasts() {
	weights, err := linmod.PolynomialContrasts([]float64{0, 4, 12}, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, w := range weights {
		fmt.Printf("%.4f\n", w)
	}
	// Output:
	// [-0.6172 -0.1543 0.7715]
	// [0.5345 -0.8018 0.2673]
}
