package rehearse

// ThrusterPlan is the plan of the demonstration: a student solar-boat team's
// pod thruster in a test tank. All of it is invented.
const ThrusterPlan = `# Invented for demonstration: a student solar-boat team's pod thruster in a test tank.
title = "Field weakening on the pod thruster (invented data)"
scope = "pod thruster no. 3"           # what is tested; the verdict speaks of this only
seed  = 41                             # the draw can be repeated from it

# The motor (invented): 62 rpm/V and 7 pole pairs, so 2852 rpm without load at 46 V, or 19964 electrical rpm.

# Cautions: guard the propeller and stand clear of its plane; disconnect power before you touch it
# or change parts; stop at the cell maker's floor voltage and temperature.

[[factor]]
name = "weakening"                     # field-weakening current
unit = "A"
levels = [0, 4, 8, 12]
baseline = 0

[block]
name = "pack"                          # runs are compared within a pack charge
count = 8
replicates = 1                         # of each level on each pack

[budget]
capacity = "22 Ah"                     # of a full pack, of which 80 % may be used
load = "65 A"
run = "35 s"
rest = "75 s"                          # between runs, so that the winding cools
swap = "10 min"                        # to change the pack

[drift]
model = "linear"                       # heat builds up and the pack sags from first run to last
own = false

[[response]]
name = "spin_up"                       # from standstill to 90 % of full speed
unit = "ms"
better = "lower"
margin = "2%"                          # a smaller difference would not change the setting
noise = "1.2%"

[[response]]
name = "bollard_pull"
unit = "N"
better = "higher"
margin = "2%"
noise = "1%"

[[response]]
name = "input"                         # electrical power at full throttle
unit = "W"
better = "lower"
margin = 15                            # watts that the solar panel would notice
noise = 12

[analysis]
alpha = 0.05
power = 0.9
compare = "pairs"
`

// ThrusterSeed is the seed of the demonstration's bench.
const ThrusterSeed = 1931

// Thruster is the bench of the demonstration. Its truth, by level of field
// weakening 0, 4, 8 and 12 A: 4 A spins up 3.5 % faster and 8 and 12 A equally,
// 5.5 % faster; bollard pull gains a little up to 8 A; input rises with each step.
func Thruster() *Simulator {
	return &Simulator{
		Bench: Bench{
			Ambient: 14, WindingTau: 240, WindingRise: 0.9, Resistance: 0.021,
			RunTime: 35, RestTime: 75, SwapTime: 600,
			Pack: Pack{Full: 50.0, Empty: 42.0, Capacity: 22, Resistance: 0.030, Spread: 0.04},
		},
		Failing: 0.03,
		Loads:   []Load{{Winding: 58, Supply: 60}, {Winding: 59, Supply: 62}, {Winding: 61, Supply: 65}, {Winding: 64, Supply: 69}},
		Responses: []Response{
			{Base: 640, Ratio: []float64{1, 0.965, 0.945, 0.945}, Nominal: 46, Volts: -1.0, Copper: 0.6, Noise: 0.012, Digits: 1},
			{Base: 412, Ratio: []float64{1, 1.008, 1.012, 1.012}, Nominal: 46, Volts: 1.6, Copper: -0.25, Noise: 0.009, Digits: 1},
			{Base: 2730, Ratio: []float64{1, 1.012, 1.03, 1.062}, Nominal: 46, Volts: 2.4, Copper: -0.2, Noise: 0.0045, Digits: 0},
		},
	}
}
