package resample_test

import (
	"context"
	"fmt"
	"math/rand/v2"

	"fairrun/stats/linmod"
	"fairrun/stats/resample"
)

// A pod thruster spins up with two field-weakening currents, twice each on every one of
// three packs that sag from run to run. Any order within a pack might have been drawn: 6³ = 216
// in all.
func Example() {
	pack := linmod.Factor{Name: "pack", Levels: []string{"1", "2", "3"},
		Code: []int32{0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2}}
	position := linmod.Covariate{Name: "position",
		Value: []float64{1, 2, 3, 4, 1, 2, 3, 4, 1, 2, 3, 4}}
	design := &resample.Design{
		Slots:      linmod.Model{Blocks: []linmod.Factor{pack}, Covariates: []linmod.Covariate{position}},
		Treatments: 2,
		Drawn:      []int32{0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 1, 0},
		Families:   []resample.Family{resample.Pairs(2)},
		Alpha:      0.05,
	}
	spinUp := []float64{410, 403, 406, 417, 401, 409, 412, 409, 413, 402, 409, 418}
	test, err := design.Test(spinUp)
	if err != nil {
		fmt.Println(err)
		return
	}
	results, err := resample.Enumerate(context.Background(), allOrders, test)
	if err != nil {
		fmt.Println(err)
		return
	}
	r := results[0]
	c := r.Families[0].Comparisons[0]
	fmt.Printf("p = %.4f over %d orders, exact: %v\n", r.P, r.Orders, r.Exact)
	fmt.Printf("8 A less 0 A: %.2f ms, between %.2f and %.2f\n", c.Estimate, c.Low, c.High)
	// testdata/example.py says the same, refitting every order.
	//
	// Output:
	// p = 0.0093 over 216 orders, exact: true
	// 8 A less 0 A: -8.17 ms, between -11.34 and -5.67
}

// allOrders yields every order of two treatments, twice each in three packs.
func allOrders(yield func([]int32) bool) {
	within := [][]int32{{0, 0, 1, 1}, {0, 1, 0, 1}, {0, 1, 1, 0}, {1, 0, 0, 1}, {1, 0, 1, 0}, {1, 1, 0, 0}}
	order := make([]int32, 12)
	for _, a := range within {
		for _, b := range within {
			for _, c := range within {
				copy(order, a)
				copy(order[4:], b)
				copy(order[8:], c)
				if !yield(order) {
					return
				}
			}
		}
	}
}

// Fresh draws, a stream of random numbers for each chunk of them: the result is the
// same on any machine.
func ExampleSample() {
	design := &resample.Design{
		Treatments: 2,
		Drawn:      []int32{0, 1, 1, 0, 1, 0, 0, 1, 0, 1},
		Families:   []resample.Family{resample.Pairs(2)},
	}
	test, err := design.Test([]float64{81, 84, 86, 80, 85, 79, 82, 87, 81, 83})
	if err != nil {
		fmt.Println(err)
		return
	}
	sampler := func(chunk int) func(order []int32) {
		words := rand.NewPCG(41, uint64(chunk))
		return func(order []int32) {
			for i := range order {
				order[i] = int32(i % 2)
			}
			rand.New(words).Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		}
	}
	results, err := resample.Sample(context.Background(), 9999, sampler, test)
	if err != nil {
		fmt.Println(err)
		return
	}
	// No run with one exceeds any with the other: 2 of all 252 orders are as
	// extreme, which makes 0.0079.
	fmt.Printf("p = %.2f over %d draws\n", results[0].P, results[0].Orders)
	// Output: p = 0.01 over 9999 draws
}
