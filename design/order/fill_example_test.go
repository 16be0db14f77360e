package order_test

import (
	"fmt"

	"fairrun/design/lot"
	"fairrun/design/order"
)

// A fresh allowed order, as a randomisation test needs it by the thousand.
func ExampleSampler_Fill() {
	plan := order.Spec{Treatments: 3, Blocks: 2, Replicates: 2, Drift: order.Linear, Own: true}
	d, err := order.Draw(plan, 7)
	if err != nil {
		fmt.Println(err)
		return
	}
	set, err := d.Set()
	if err != nil {
		fmt.Println(err)
		return
	}
	fresh := [][]int{make([]int, 6), make([]int, 6)}
	sampler := set.Sampler(lot.New(7, 1<<32))
	for range 2 {
		sampler.Fill(fresh)
		fmt.Println(fresh, set.Allows(fresh) == nil)
	}
	// Output:
	// [[2 0 1 1 0 2] [0 2 1 2 1 0]] true
	// [[1 0 2 2 0 1] [2 0 1 0 1 2]] true
}
