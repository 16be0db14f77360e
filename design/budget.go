package design

import "time"

// Budget says what one block can spend and what the runs cost, in supply and in time.
type Budget struct {
	Supply     *Supply       // nil: nothing runs out (a bench supply), only time is counted
	Run        time.Duration // how long one run takes
	Rest       time.Duration // shortest pause between two runs
	Swap       time.Duration // from the last run of a block to readiness for the next: changing a pack
	Changeover []Changeover  // factors that take time to change, in the plan's order
}

// Supply is what a block has to spend, in one unit throughout.
type Supply struct {
	Capacity float64 // of a full pack
	Unit     string  // "Ah" or "Wh"
	Usable   float64 // share of the capacity that may be used, above 0 and at most 1
	PerRun   float64 // what one run takes
}

// Changeover is the time it takes to change a factor's level between two runs.
type Changeover struct {
	Factor string
	Time   time.Duration
}
