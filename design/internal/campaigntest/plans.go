package campaigntest

// StrataPlan is a plan of one factor, in packs that hold each level once, with room for another.
const StrataPlan = `title = "Field weakening"
scope = "pod thruster no. 3"
interactions = false
%s
[[factor]]
name = "weakening"
levels = [0, 4]
baseline = 0
[block]
name = "pack"
count = 2
replicates = 1
[drift]
model = "none"
[[response]]
name = "pull"
better = "higher"
`

// SpecimensPlan is a plan on some number of motors, with so many packs of two runs a level.
const SpecimensPlan = `title = "Field weakening"
scope = "pod thruster"
[specimens]
name = "motor"
count = %d
[[factor]]
name = "weakening"
levels = [0, 4]
[block]
name = "pack"
count = 6
replicates = %d
[drift]
model = "none"
[[response]]
name = "pull"
better = "higher"
`

// ExplainPlan is a plan of one factor at five levels, without its blocks.
const ExplainPlan = `title = "Field weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 4, 8, 12, 16]
baseline = 0
[[response]]
name = "spin_up"
better = "lower"
`
