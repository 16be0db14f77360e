package order_test

import (
	"fmt"

	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/screen"
)

// Four treatments, twice in each of three packs that all heat up alike.
func ExampleDraw() {
	plan := order.Spec{Treatments: 4, Blocks: 3, Replicates: 2, Drift: order.Linear}
	d, err := order.Draw(plan, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, pack := range d.Blocks {
		fmt.Println(pack)
	}
	fmt.Printf("efficiency %.3f\n", d.Efficiency)
	fmt.Println("allowed orders:", d.Orders)
	// Output:
	// [3 1 3 2 0 0 2 1]
	// [2 0 1 1 3 2 0 3]
	// [0 3 1 2 1 0 3 2]
	// efficiency 0.994
	// allowed orders: about 10^9.0
}

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
