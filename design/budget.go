package design

import (
	"math"
	"time"
)

// Budget says what one block can spend and what the runs cost, in supply and in time.
type Budget struct {
	Supply     *Supply       `json:"supply,omitempty"`     // nil: nothing runs out (a bench supply), only time is counted
	Run        time.Duration `json:"run"`                  // how long one run takes
	Rest       time.Duration `json:"rest,omitempty"`       // shortest pause between two runs; 0 for none. With RestUntil: about how long it takes to get there
	RestUntil  *float64      `json:"rest_until,omitempty"` // start_temp to which the thing under test cools before a run; nil: time alone counts
	Swap       time.Duration `json:"swap,omitempty"`       // from the last run of a block to readiness for the next: changing a pack
	Hours      time.Duration `json:"hours,omitempty"`      // the longest that the campaign may take at the bench; 0: no limit
	Changeover []Changeover  `json:"changeover,omitempty"` // factors that take time to change, in the plan's order
}

// Supply is what a block has to spend, in one unit throughout.
type Supply struct {
	Capacity float64 `json:"capacity"` // of a full pack
	Unit     string  `json:"unit"`     // "Ah" or "Wh"
	Usable   float64 `json:"usable"`   // share of the capacity that may be used, above 0 and at most 1
	PerRun   float64 `json:"per_run"`  // what one run takes
}

// Changeover is the time it takes to change a factor's level between two runs.
type Changeover struct {
	Factor string        `json:"factor"`
	Time   time.Duration `json:"time"` // nanoseconds in JSON, like all times of a plan
}

// DefaultUsable is the share of a pack that is used when the plan does not say: the last fifth of a
// charge sags fastest and wears the pack most.
const DefaultUsable = 0.8

// Runs returns the number of runs a block's supply lasts, usable capacity over what a run takes,
// at most MaxRuns+1. A part in 1e9 is forgiven, so that 0.8 of 5 Ah lasts 8 runs of 0.5 Ah.
func (s *Supply) Runs() int {
	return int(min(math.Floor(s.Capacity*s.Usable/s.PerRun*(1+1e-9)), MaxRuns+1))
}
