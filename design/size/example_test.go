package size_test

import (
	"context"
	"fmt"

	"fairrun/design/plan"
	"fairrun/design/size"
)

// tank is a plan of three levels in packs of six runs, with the noise that is expected from run to run.
const tank = `
title = "Field weakening on the pod thruster"
scope = "pod thruster no. 3"
seed = 41

[[factor]]
name = "weakening"
unit = "A"
levels = [0, 4, 8]

[block]
name = "pack"
count = 2
replicates = 2

[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
margin = "2%"
noise = "1.5%"
`

// How many packs find a difference of 2 % with the plan's chance of 90 %, and what the two that are planned find.
func ExampleAsk_Before() {
	p, err := plan.Parse("campaign.toml", []byte(tank))
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := size.Ask{}.Before(context.Background(), p)
	if err != nil {
		fmt.Println(err)
		return
	}
	family := r.Responses[0].Sizes[0]
	say := func(what string, at *size.Point) {
		fmt.Printf("%s %d packs, %d runs: a difference of 2 %% is found with a chance of %.0f %%, one of %.1f %% with 90 %%\n",
			what, at.Blocks, at.Runs, 100*at.Power, 100*at.Detectable)
	}
	say("planned:", &family.Now)
	if family.Needed == nil {
		fmt.Println("no affordable number of packs would do")
		return
	}
	say("needed: ", family.Needed)
	// Output:
	// planned: 2 packs, 12 runs: a difference of 2 % is found with a chance of 9 %, one of 12.6 % with 90 %
	// needed:  13 packs, 78 runs: a difference of 2 % is found with a chance of 91 %, one of 2.0 % with 90 %
}
