package plan_test

import (
	"strings"
	"testing"
	"time"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/plan"

	"github.com/google/go-cmp/cmp"
)

const simulatedPlan = `title = "Weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 4, 8]
[[factor]]
name = "prop"
levels = ["A", "B"]
[block]
count = 2
replicates = 2
[[response]]
name = "spin_up"
better = "lower"
margin = "2%"
noise = "1%"
[[response]]
name = "input"
unit = "W"
better = "lower"
margin = 15
[[response]]
name = "pull"
unit = "N"
better = "higher"
noise = 3
`

func TestSimulationIsWhatThePlanSays(t *testing.T) {
	c := parse(t, simulatedPlan+`
[budget]
run = "40 s"
rest = "2 min"
swap = "8 min"
[simulation]
ambient = "-2.5 °C"
heat = "0 K"
warm_up = "5 min"
rest = "90 s"
sag = "0%"
drop = "2.5%"
used = 0.5
pack_scatter = "0%"
failures = "3%"
outliers = "0%"
outlier_size = 6
[simulation.current]
weakening = [1, 1.05, 1.1]
[simulation.response.spin_up]
volts = -1.5
copper = 0
noise = "3%"
[simulation.response.pull]
mean = 400
difference = 5
`)
	want := &design.Simulation{
		Ambient: -2.5, Heat: 0, WarmUp: 5 * time.Minute,
		Run: 40 * time.Second, Rest: 90 * time.Second, Swap: 8 * time.Minute, // run and swap are the budget's
		Sag: 0, Drop: 0.025, Used: 0.5, PackScatter: 0,
		Failures: 0.03, Outliers: 0, OutlierSize: 6, Interplay: 0.5,
		Currents: []design.Current{{Factor: "weakening", Levels: []float64{1, 1.05, 1.1}}},
		Responses: []design.Reaction{
			{Response: "spin_up", Volts: -1.5, Copper: 0, Mean: 1, Noise: design.Amount{Set: true, Value: 0.03, Relative: true}, Difference: design.Amount{Set: true, Value: 0.02, Relative: true}},
			// A margin of 15 W is 2 % of 750 W.
			{Response: "input", Volts: -1, Copper: 0.5, Mean: 750, Noise: design.Amount{Set: true, Value: 0.015, Relative: true}, Assumed: true, Difference: design.Amount{Set: true, Value: 15}},
			{Response: "pull", Volts: 1, Copper: -0.5, Mean: 400, Noise: design.Amount{Set: true, Value: 3}, Difference: design.Amount{Set: true, Value: 5}},
		},
	}
	if diff := cmp.Diff(want, c.Simulation); diff != "" {
		t.Errorf("Simulation (-want +got):\n%s", diff)
	}
}

// The bench is no part of what the draw and the verdict rest on.
func TestSimulationDoesNotChangeTheHash(t *testing.T) {
	plain, simulated := parse(t, simulatedPlan), parse(t, simulatedPlan+"[simulation]\nheat = \"60 K\"\n")
	if plain.Simulation != nil {
		t.Errorf("Simulation = %v without the table, want nil", plain.Simulation)
	}
	if plain.Hash() != simulated.Hash() {
		t.Errorf("[simulation] changes the hash from %s to %s", plain.Hash(), simulated.Hash())
	}
}

func TestDefaultSimulationFollowsTheBudget(t *testing.T) {
	// 12 runs of 0.25 Ah on a pack of 5 Ah use 60 % of it.
	c := parse(t, simulatedPlan+"[budget]\nrun = \"40 s\"\nrest = \"2 min\"\ncapacity = \"5 Ah\"\nuse = \"0.25 Ah\"\n")
	s := c.DefaultSimulation()
	if s.Run != 40*time.Second || s.Rest != 2*time.Minute || s.Swap != 0 || s.Used != 12*0.25/5 {
		t.Errorf("run %v, rest %v, swap %v, used %v; want the budget's 40s, 2m0s, 0s, 0.6", s.Run, s.Rest, s.Swap, s.Used)
	}
	if got, want := s.Responses[2].Mean, 200.0; got != want { // 3 N are 1.5 % of 200 N
		t.Errorf("mean of pull %v, want %v", got, want)
	}
}

// Several specimens are taken to answer a little differently unless the plan says how much; one specimen has nothing to differ from.
func TestInterplayOfUnits(t *testing.T) {
	const specimens = "[specimens]\nname = \"motor\"\ncount = 2\n"
	if got := parse(t, simulatedPlan).DefaultSimulation().Interplay; got != 0.5 {
		t.Errorf("of blocks like these the interplay is %v, want 0.5", got)
	}
	if got := parse(t, strings.Replace(simulatedPlan, "[block]", "[block]\nrandom = false", 1)).DefaultSimulation().Interplay; got != 0 {
		t.Errorf("of these blocks alone the interplay is %v, want 0", got)
	}
	if got := parse(t, simulatedPlan+specimens).DefaultSimulation().Interplay; got != 0.5 {
		t.Errorf("of two specimens the interplay is %v, want 0.5", got)
	}
	if got := parse(t, simulatedPlan+specimens+"[simulation]\ninterplay = \"0%\"\n").Simulation.Interplay; got != 0 {
		t.Errorf("interplay %v, want the plan's 0", got)
	}
	if got := parse(t, simulatedPlan+specimens+"[simulation]\ninterplay = 1.5\n").Simulation.Interplay; got != 1.5 {
		t.Errorf("interplay %v, want the plan's 1.5", got)
	}
}

// Marks as in TestFaults: § stands before each place a fault must point to.
func TestSimulationFaults(t *testing.T) {
	for _, c := range []struct{ name, table, want string }{
		{"not a table", "§simulation = 3\n", `simulation is the number 3; write it as the table [simulation]`},
		{"unknown key", "[simulation]\n§hot = \"40 K\"\n", `unknown key "hot" in [simulation]; allowed: ambient, heat, warm_up, run, rest, swap, sag, drop, used, pack_scatter, failures, outliers, outlier_size, interplay, current, response`},
		{"heat without a unit", "[simulation]\nheat = §40\n", `heat is the number 40; write a number from 0 to 300 and its unit, such as "40 K"`},
		{"cooling", "[simulation]\nheat = §\"-4 K\"\n", `heat is the text "-4 K"; write a number from 0 to 300 and its unit, such as "40 K"`},
		{"ambient in kelvin", "[simulation]\nambient = §\"290 K\"\n", `ambient is the text "290 K"; write a number from -60 to 100 and its unit, such as "20 °C"`},
		{"time without a unit", "[simulation]\nwarm_up = §240\n", `warm_up is the number 240; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`},
		{"sag beyond its limit", "[simulation]\nsag = §\"60%\"\n", `sag is the text "60%"; write a percentage from 0 up to 50, such as "12%"`},
		{"share that is no number", "[simulation]\nfailures = §\"few\"\n", `failures is the text "few"; write a percentage from 0 up to 50, such as "3%"`},
		{"negative share", "[simulation]\noutliers = §-0.1\n", `outliers is the number -0.1; write a percentage from 0 up to 50, such as "2%"`},
		{"outlier inside the noise", "[simulation]\noutlier_size = §0.5\n", `outlier_size is 0.5; write a number from 1 to 100`},
		{"interplay of what is one alone", "[simulation]\n§interplay = \"20%\"\n", `interplay says how differently specimens or blocks answer, and the plan judges by one alone; add [specimens], leave random = false out of [block], or leave interplay out`},
		{"load of no factor", "[simulation.current]\n§weakning = [1, 2, 3]\n", `unknown key "weakning" in [simulation.current]; did you mean "weakening"? allowed: weakening, prop`},
		{"load of too few levels", "[simulation.current]\nweakening = §[1, 2]\n", `weakening has 2 currents for 3 levels; write a list of 3 numbers, one a level: its current relative to any one current, such as 1.05`},
		{"load that is one number", "[simulation.current]\nweakening = §1.2\n", `weakening is the number 1.2; write a list of 3 numbers, one a level: its current relative to any one current, such as 1.05`},
		{"current of zero", "[simulation.current]\nweakening = [1, §0, 1]\n", `a current is 0; write a number above 0 and up to 5`},
		{"unknown response", "[simulation.response.§spinup]\nvolts = 1\n", `unknown key "spinup" in [simulation.response]; did you mean "spin_up"? allowed: spin_up, input, pull`},
		{"unknown key of a response", "[simulation.response.spin_up]\n§volt = 1\n", `unknown key "volt" in [simulation.response.spin_up]; did you mean "volts"? allowed: volts, copper, mean, noise, difference`},
		{"exponent beyond its limit", "[simulation.response.spin_up]\nvolts = §11\n", `volts is 11; write a number from -10 to 10`},
		{"difference in other terms than the margin", "[simulation.response.spin_up]\ndifference = §12\n", `difference is 12 and the margin 2%: one is a percentage and the other is not; write it as the margin is written, so that they can be compared`},
		{"mean of zero", "[simulation.response.input]\nmean = §0\n", `mean is 0; write a number from 1e-12 to 1e+12`},
	} {
		t.Run(c.name, func(t *testing.T) {
			marked := simulatedPlan + c.table
			if strings.Contains(c.name, "one alone") {
				marked = strings.Replace(marked, "[block]", "[block]\nrandom = false", 1)
			}
			if strings.HasPrefix(c.table, "§") {
				marked = c.table + simulatedPlan // a key of the plan itself
			}
			text, places := assemble(map[string]string{"head": marked, "factor": "", "block": "", "response": ""})
			_, err := plan.Parse("campaign.toml", []byte(text))
			faults := fault.In(err)
			if len(faults) != 1 || len(places) != 1 {
				t.Fatalf("%d faults for %d marks: %v", len(faults), len(places), err)
			}
			if f := faults[0]; f.Line != places[0][0] || f.Column != places[0][1] {
				t.Errorf("fault at %d:%d, want %v", f.Line, f.Column, places[0])
			}
			if got := faults[0].Found + "; " + faults[0].Do; got != c.want {
				t.Errorf("fault\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}
