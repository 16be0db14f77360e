package plan_test

import (
	"fmt"

	"fairrun/design"
	"fairrun/design/plan"
)

// A campaign begins with a few answers and a commented file to edit.
func ExampleStarter() {
	text, err := plan.Starter(plan.Answers{
		Title: "Field weakening on the pod thruster",
		Scope: "pod thruster no. 3",
		Factors: []plan.FactorAnswer{
			{Name: "weakening", Unit: "A", Levels: []string{"0", "4", "8", "12"}, Baseline: "0"},
			{Name: "prop", Levels: []string{"A", "B"}},
		},
		Block: design.Block{Name: "pack", Count: 4, Replicates: 2},
		Responses: []plan.ResponseAnswer{
			{Name: "spin_up", Unit: "ms", Better: "lower", Margin: "2%", Noise: "1.5%"},
			{Name: "pull", Unit: "N", Better: "higher"},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(string(text))
	// Output:
	// # The plan of a bench campaign. Change it until it says what you mean, then run
	// # "fairrun sheet" to draw the run order. Change nothing once results are in:
	// # the verdict shows every edit that was made after the draw.
	// #
	// # Guard the propeller and stand out of its plane.
	// # Disconnect the power before you touch the propeller or change parts.
	// # Wear eye protection.
	// # Never charge a pack unattended, and never a puffed, damaged or hot one.
	// # Stop at the cell maker's floor voltage and temperature.
	// # The makers' instructions, club and local rules and qualified people come before this plan.
	//
	// title = "Field weakening on the pod thruster" # what the campaign is about
	// scope = "pod thruster no. 3"       # what is tested: verdicts speak of this and no more
	// # seed: "fairrun sheet" writes it here; the same seed draws the same order again
	//
	// [[factor]]                         # what you set on purpose, one [[factor]] each
	// name = "weakening"                 # its column in the run sheet
	// unit = "A"                         # of its levels
	// levels = [0, 4, 8, 12]             # numbers are ordered; names stand in quotes
	// baseline = 0                       # the setting that the others are compared with, if there is one
	// #hard_to_change = false            # true: takes long to change; its runs stay together, as whole plots
	//
	// [[factor]]
	// name = "prop"
	// levels = ["A", "B"]
	// #baseline = "A"
	// #hard_to_change = false
	//
	// [block]                            # what cannot last for all runs; settings are compared within it
	// name = "pack"                      # a pack charge, a session, a day
	// count = 4                          # how many packs or sessions there are
	// replicates = 2                     # runs of each treatment in each one
	//
	// [drift]                            # what heat and sag do over the runs of a block
	// model = "curve"                    # none, linear, quadratic, curve, or position (any shape, the same in all blocks)
	// own = false                        # true: each block drifts at its own rate
	//
	// [[response]]                       # what you measure, one number a run; one [[response]] each
	// name = "spin_up"                   # its column in the run sheet
	// unit = "ms"                        # of its values
	// better = "lower"                   # lower or higher, settled before there are results
	// margin = "2%"                      # smallest difference that would change a decision
	// noise = "1.5%"                     # run-to-run standard deviation you expect; a guess will do
	//
	// [[response]]
	// name = "pull"
	// unit = "N"
	// better = "higher"
	// #margin = "2%"
	// #noise = "2%"
	//
	// [analysis]                         # what is compared, and how sure it must be
	// alpha = 0.05                       # chance of a false alarm in a family
	// power = 0.9                        # chance to find a difference of the margin
	// compare = "pairs"                  # pairs: all with all; baseline: all with it; best: all with the best
	// #looks = 2                         # times you judge, the end included; more blocks for the same power
	// #spending = "obrien-fleming"       # how looks share alpha: obrien-fleming (late) or pocock (evenly)
	// #noise = "common"                  # common: all levels scatter alike; by_level: each is judged by its own
	// #covariates = ["start_temp"]       # what is noted before a run and adjusted for
	//
	// #[specimens]                       # several of one type, so that the verdict holds for the type; blocks are shared out
	// #name = "motor"                    # what one is called
	// #count = 3                         # how many of one type are tested
	//
	// #[order]                           # more of the order; warm-up and reference runs are runs of the baseline
	// #carry_over = true                 # true: each treatment follows each other about equally often
	// #warmup = 1                        # runs at the start of each block that are not analysed
	// #reference = [2]                   # positions in each block at which the baseline is run, counted from 1
	//
	// #[readings.start_temp]             # limits for what is noted before each run: entering a value outside them warns
	// #high = 45                         # warn above it
	//
	// #[rig]                             # the bench; "fairrun verdict --save-noise" keeps what it was measured to scatter
	// #name = "tank 2"                   # what it is called
	// #noise_file = "../noise.toml"      # the file that keeps its noise, seen from this folder; plans start from it
	//
	// #[budget]                          # what one block can spend and what a run takes; sheet adds up packs and hours
	// #capacity = "5 Ah"                 # of a full pack; leave it out on a bench supply
	// #usable = "80%"                    # share of it that the maker's floor voltage leaves you
	// #load = "10 A"                     # mean of a run
	// #run = "40 s"                      # how long one run takes
	// #rest = "3 min"                    # between runs
	// #rest_until = "35 °C"              # start_temp to cool down to; rest is then about how long it takes
	// #swap = "8 min"                    # from one block to the next
}
