package blocks

import (
	"fmt"

	"fairrun/stats/words"
)

// Spec says what is asked of a block design. One of Runs and Replicates is set; the zero value of
// every other field from Session on asks for nothing.
type Spec struct {
	Treatments int
	Blocks     int
	Runs       int // of an incomplete block
	Replicates int // of each treatment in a complete block
	Session    int // blocks of a session, in turn

	Effects [][]float64 // of each treatment, where comparisons within a model of effects count; nil: all count
	Plots   []int       // setting of each treatment, whose runs stay together in a whole plot

	// Adjacent says of each position whether a run stands right before it, where runs at fixed places
	// part the others.
	Adjacent []bool
}

// runsPerBlock is the number of runs in a block.
func (p Spec) runsPerBlock() int {
	if p.Runs > 0 {
		return p.Runs
	}
	return p.Treatments * p.Replicates
}

// UnconnectedError reports that no blocks were found that join all treatments.
type UnconnectedError struct{ Spec Spec }

// Error says which blocks they would be.
func (e *UnconnectedError) Error() string {
	where := ""
	if e.Spec.Session > 0 {
		where = fmt.Sprintf(", %d in a session", e.Spec.Session)
	}
	return fmt.Sprintf("%d treatments in %s of %s%s: no blocks were found that join all of them",
		e.Spec.Treatments, words.Count(e.Spec.Blocks, "block"), words.Count(e.Spec.Runs, "run"), where)
}
