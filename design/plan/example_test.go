package plan_test

import (
	"fmt"

	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/design/plan"
)

const text = `title = "Field weakening on the pod thruster"
scope = "pod thruster no. 3"

[[factor]]
name = "weakening"
unit = "A"
levels = [0, 4, 8, 12]

[block]
name = "pack"
count = 4
replicates = 2

[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
margin = "2%"

[budget]
capacity = "5 Ah"
load = "18 A"
run = "40 s"
rest = "3 min"
swap = "6 min"
`

func Example_cost() {
	c, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		fmt.Println(err)
		return
	}
	takes := cost.Of(c)
	fmt.Printf("%d runs in %d packs, each of which would last %d; %v at the bench\n", takes.Runs, takes.Blocks, takes.Lasts, takes.Time)
	// Output:
	// 32 runs in 4 packs, each of which would last 20; 2h3m20s at the bench
}

// All faults of a plan come at once.
func ExampleParse() {
	_, err := plan.Parse("campaign.toml", []byte(`
title = "Field weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 4, 4.0]
[block]
cuont = 4
replicates = 0
[[response]]
name = "spin-up time"
better = "low"
margin = "2"
`))
	fmt.Println(err)
	// Output:
	// campaign.toml:6:17: the levels 4 and 4.0 are the same number; take one of them out
	// campaign.toml:7:2: [block] has no count; add count = 4: how many packs or sessions there are
	// campaign.toml:8:1: unknown key "cuont" in [block]; did you mean "count"? allowed: name, plural, random, count, replicates, runs
	// campaign.toml:9:14: replicates is 0; write a whole number, 1 or more
	// campaign.toml:11:8: "spin-up time" cannot head a column; use letters, digits and _, a letter first, such as "spin-up_time"
	// campaign.toml:12:10: better is "low"; did you mean "lower"? allowed: lower, higher
	// campaign.toml:13:10: margin is the text "2"; write 2 without quotes in the response's unit, or "2%" for a percentage
}

func Example_differences() {
	c, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		fmt.Println(err)
		return
	}
	drawn := c.Canonical()
	c.Responses[0].Margin = design.Amount{Set: true, Value: 0.05, Relative: true}
	changes, err := design.Differences(drawn, c.Canonical())
	fmt.Println(changes, err)
	// Output:
	// [response "spin_up": margin was 2% and is 5%] <nil>
}
