package check

import (
	"errors"
	"fmt"
)

// What data can lack. Compare with errors.Is; the texts are for people.
var (
	// ErrInfinite: a value is +Inf or −Inf.
	ErrInfinite = errors.New("a value is infinite")
	// ErrTooFew: fewer values than the smallest number the test is defined for.
	ErrTooFew = errors.New("too few values")
	// ErrTooMany: more values than the test was calibrated for.
	ErrTooMany = errors.New("too many values")
	// ErrConstant: the values do not vary, so there is nothing to test.
	ErrConstant = errors.New("all values are equal")
	// ErrTies: so many values equal the median that too few are left on one side.
	ErrTies = errors.New("too many values equal the median")
	// ErrOneGroup: there is nothing to compare with.
	ErrOneGroup = errors.New("fewer than two groups have values")
	// ErrLoneRun: one run has no spread to estimate.
	ErrLoneRun = errors.New("a group has one run only")
	// ErrPairs: two runs lie equally far from their median, whatever their spread.
	ErrPairs = errors.New("no group has more than two runs")
	// ErrNoSpread: the values of a group are all equal.
	ErrNoSpread = errors.New("all values of a group are equal")
	// ErrNoDF: the fit uses up the runs, none are left to judge it by.
	ErrNoDF = errors.New("too few degrees of freedom are left")
	// ErrExactFit: the residuals are all zero.
	ErrExactFit = errors.New("the model fits exactly, there is no noise to judge by")
	// ErrInModel: the trend is part of the model, so nothing of it can be left over.
	ErrInModel = errors.New("the model already holds this trend")
	// ErrNotRepeated: no block holds two values that could be ranked against each other.
	ErrNotRepeated = errors.New("no block has two different values of different treatments")
)

// GroupError names the group that an error is about. Group is the index in
// the caller's list, from zero.
type GroupError struct {
	Group int
	Err   error
}

func (e *GroupError) Error() string { return fmt.Sprintf("group index %d: %v", e.Group, e.Err) }

// Unwrap returns the cause, one of the errors of this package.
func (e *GroupError) Unwrap() error { return e.Err }
