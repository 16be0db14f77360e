package order_test

import (
	"fmt"

	"fairrun/design/order"
)

// treatments are the settings that are compared.
var treatments = []string{"0 %", "5 %", "10 %", "15 %"}

// Four settings of the field weakening run twice in each of three packs, whose voltage falls from run to run. The order
// is random, and each setting runs about as early as late.
func ExampleDraw() {
	d, err := order.Draw(order.Spec{
		Treatments: len(treatments),
		Blocks:     3, // packs
		Replicates: 2, // runs of each treatment in a pack
		Drift:      order.Linear,
	}, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	for b, pack := range d.Blocks {
		fmt.Print("pack ", b+1, ":")
		for _, t := range pack {
			fmt.Printf(" %4s", treatments[t])
		}
		fmt.Println()
	}
	fmt.Printf("drift costs %.1f %% of the efficiency; allowed orders: %v\n", 100*(1-d.Efficiency), d.Orders)
	// Output:
	// pack 1: 15 %  5 % 15 % 10 %  0 %  0 % 10 %  5 %
	// pack 2: 10 %  0 %  5 %  5 % 15 % 10 %  0 % 15 %
	// pack 3:  0 % 15 %  5 % 10 %  5 %  0 % 15 % 10 %
	// drift costs 0.6 % of the efficiency; allowed orders: about 10^9.0
}
