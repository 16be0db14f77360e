package judge_test

import (
	"fmt"

	"fairrun/stats/compare"
	"fairrun/stats/judge"
)

// Two packs of three runs of each of two settings, and the same order for two responses: one to which
// the setting adds 10, one to which it adds nothing.
func ExampleLeastSquares() {
	m := &judge.Model{Blocks: 2, Length: 6, Factors: []judge.Factor{{Levels: 2, Code: []int{0, 1}, Baseline: -1}}}
	treatment := []int{0, 1, 1, 0, 0, 1, 1, 0, 0, 1, 1, 0}
	good := make([]bool, len(treatment))
	for s := range good {
		good[s] = true
	}
	noise := []float64{0.3, -0.8, 1.1, -0.2, 0.6, -1.0, 0.4, 0.1, -0.7, 0.9, -0.5, -0.2}

	fit, estimates := judge.NewLeastSquares(m), judge.NewEstimates(m)
	if !fit.Order(treatment, good) {
		fmt.Println("this order cannot tell the settings apart")
		return
	}
	var r judge.Reading
	r.By(judge.NewCriticals(compare.KindPairs, 0.05, nil))
	for _, effect := range []float64{10, 0} {
		y := make([]float64, len(treatment))
		for s, t := range treatment {
			y[s] = effect*float64(t) + noise[s]
		}
		fit.Solve(y, estimates)
		r.Turn(&judge.Question{Margin: 2}, &m.Factors[0], fit.Precision(0), &estimates[0])
		i := r.Comparison(1, 0)
		fmt.Printf("%.1f, between %.1f and %.1f: %s\n", i.Estimate, i.Low, i.High, i.Word)
	}
	// Output:
	// 10.0, between 9.1 and 11.0: matters
	// 0.0, between -0.9 and 1.0: equal
}
