package order_test

import (
	"fmt"

	"fairrun/design/order"
)

// Sorted orders hand the treatments over to drift.
func ExampleAssess() {
	plan := order.Spec{Treatments: 3, Drift: order.Linear}
	for _, block := range [][]int{{0, 0, 1, 1, 2, 2}, {0, 1, 2, 2, 1, 0}} {
		q, err := order.Assess(plan, [][]int{block})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%v efficiency %.2f, treatment 0 against time %+.2f\n", block, q.Efficiency, q.LinearCorrelation[0])
	}
	// Output:
	// [0 0 1 1 2 2] efficiency 0.16, treatment 0 against time -0.83
	// [0 1 2 2 1 0] efficiency 1.00, treatment 0 against time +0.00
}
