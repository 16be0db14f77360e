package rehearse_test

import (
	"context"
	"fmt"

	"fairrun/design/plan"
	"fairrun/design/rehearse"
)

// tank is a plan with a bench of its own: a winding that would settle 80 K above the water, and packs
// that lose a tenth of their voltage.
const tank = `
title = "Field weakening on the pod thruster"
scope = "pod thruster no. 3"

[[factor]]
name = "weakening"
unit = "A"
levels = [0, 4, 8]

[block]
name = "pack"
count = 4
replicates = 3

[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
margin = "2%"
noise = "1%"

[simulation]
heat = "80 K"
sag = "10%"
`

// A plan on its simulated bench: how often each order calls a difference where there is none, and how
// often it finds one as large as the margin.
func ExampleRehearse() {
	p, err := plan.Parse("campaign.toml", []byte(tank))
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := rehearse.Rehearse(context.Background(), p, rehearse.Options{Campaigns: 2000, Seed: 41})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, o := range r.Cases[0].Outcomes {
		fmt.Printf("%-6s order, %-6s drift: %3.0f of 100 false alarms, %3.0f of 100 found\n",
			o.Order, o.Drift.Model, 100*o.Alarms.Value, 100*o.Differing.Found.Value)
	}
	// Output:
	// drawn  order, linear drift:   5 of 100 false alarms,  62 of 100 found
	// sorted order, none   drift: 100 of 100 false alarms, 100 of 100 found
	// sorted order, linear drift:  38 of 100 false alarms,  48 of 100 found
	// random order, none   drift:   5 of 100 false alarms,   8 of 100 found
	// random order, linear drift:   5 of 100 false alarms,  60 of 100 found
}
