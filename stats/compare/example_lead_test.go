package compare_test

import (
	"fmt"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
)

func ExampleLeads() {
	mean := []float64{7.1, 9.8, 7.4} // larger is better; 4 runs each, noise 1 on 9 degrees of freedom
	cov := mat.NewSymDense(3, []float64{0.25, 0, 0, 0, 0.25, 0, 0, 0, 0.25})
	for _, l := range compare.Leads(mean, cov, 9, 0.05) {
		fmt.Printf("%.1f [%.2f, %.2f] p = %.3f, may be the best: %v\n", l.Estimate, l.Low, l.High, l.P, l.MayBeBest)
	}
	// Output:
	// -2.7 [-4.51, -0.73] p = 0.010, may be the best: false
	// 2.4 [0.59, 4.37] p = 0.013, may be the best: true
	// -2.4 [-4.21, -0.59] p = 0.013, may be the best: false
}
