package order_test

import (
	"fmt"

	"fairrun/design/order"
	"fairrun/design/screen"
)

// Eight factors in twelve runs, drawn so that a straight drift costs main effects little.
func ExampleDraw_screen() {
	levels, err := screen.PlackettBurman(8, 12)
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := order.Draw(order.Spec{Treatments: 12, Blocks: 1, Replicates: 1, Drift: order.Linear, Own: true, Effects: order.MainEffects(levels)}, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("first run %v, efficiency %.3f\n", levels[d.Blocks[0][0]], d.Efficiency)
	// Output:
	// first run [0 0 0 1 0 1 1 0], efficiency 0.967
}
