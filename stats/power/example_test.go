package power_test

import (
	"errors"
	"fmt"

	"fairrun/stats/compare"
	"fairrun/stats/power"
)

// The numbers printed here were found by R as well, testdata/examples.R.

// A pod thruster is to be compared at four field-weakening currents, twice in
// each pack charge, with linear heat drift shared by all packs. Spin-up time
// scatters by 1.5 %, and a difference of 2 % would matter.
func ExampleTest_Needed() {
	c := power.Test{Family: compare.Pairs{Levels: 4}, Alpha: 0.05}
	t := power.Target{Margin: 2, Noise: power.Scatter{SD: 1.5}, Power: 0.9}
	d := power.Design{Treatments: 4, Blocks: 1, Replicates: 2, Drift: 1}

	a, err := c.Needed(t, d.ByBlocks(), 20)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d packs: power %.3f, finds %.2f %% and more\n", a.N, a.Power, a.Detectable)

	_, err = c.Needed(t, d.ByBlocks(), 4)
	if short, ok := errors.AsType[*power.UnaffordableError](err); ok {
		fmt.Println(short)
		fmt.Printf("they find %.2f %% and more\n", short.Best.Detectable)
	}
	// Output:
	// 9 packs: power 0.908, finds 1.98 % and more
	// no affordable number would do: 4 reach power 0.477, not 0.900
	// they find 3.08 % and more
}

// After three packs the noise is known from 17 degrees of freedom only.
func ExampleTest_Range() {
	c := power.Test{Family: compare.Baseline{Levels: 4}, Alpha: 0.05}
	d := power.Design{Treatments: 4, Blocks: 3, Replicates: 2, Drift: 1}
	now := d.Precision()
	t := power.Target{Margin: 2, Noise: power.Scatter{SD: 1.3, DF: now.DF}, Power: 0.9}

	r, err := c.Range(t, d.MoreBlocks(now), 100, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d more packs, between %d and %d as far as the noise is known\n", r.Likely.N, r.Low.N, r.High.N)
	fmt.Printf("plan %d more\n", r.Assured.N)
	// Output:
	// 3 more packs, between 1 and 10 as far as the noise is known
	// plan 4 more
}

func ExampleTest_Words() {
	c := power.Test{Family: compare.Pairs{Levels: 4}, Alpha: 0.05}
	p := power.Design{Treatments: 4, Blocks: 9, Replicates: 2, Drift: 1}.Precision()
	for _, truth := range []float64{0, 2, 4} {
		w, err := c.Words(2, truth, 1.5, p)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("truth %.0f: matters %.3f, real %.3f, trivial %.3f, equal %.3f, unresolved %.3f\n",
			truth, w.Matters, w.Real, w.Trivial, w.Equal, w.Unresolved)
	}
	// Output:
	// truth 0: matters 0.000, real 0.010, trivial 0.000, equal 0.816, unresolved 0.174
	// truth 2: matters 0.005, real 0.903, trivial 0.000, equal 0.005, unresolved 0.087
	// truth 4: matters 0.908, real 0.092, trivial 0.000, equal 0.000, unresolved 0.000
}

// Three looks, after each third of the packs.
func ExampleSchedule_Looks() {
	s := power.Schedule{Spending: power.OBrienFleming, Alpha: 0.05, Fractions: []float64{1. / 3, 2. / 3, 1}}
	for k, l := range s.Looks() {
		fmt.Printf("look %d judges at %.5f\n", k+1, l.Level)
	}
	fmt.Printf("costs %.1f %% more runs\n", 100*(s.Inflation(0.9)-1))
	fmt.Printf("unplanned, at 0.05 each: %.3f false alarms\n", power.FalseAlarms(0.05, s.Fractions))
	// Output:
	// look 1 judges at 0.00021
	// look 2 judges at 0.01202
	// look 3 judges at 0.04626
	// costs 1.2 % more runs
	// unplanned, at 0.05 each: 0.107 false alarms
}
