package power

import (
	"errors"
	"fmt"
)

// Answer is what a campaign of one size achieves.
type Answer struct {
	N          int     // how many: of what the [Growth] counts
	Power      float64 // the chance of reaching the goal
	SE         float64 // standard error of a difference, in the response's unit
	DF         float64 // residual degrees of freedom
	Critical   float64 // half the width of an interval, in standard errors
	Detectable float64 // smallest true difference found with the power asked for, in the response's unit
	Short      bool    // the power asked for is not reached
}

// UnaffordableError says that no affordable number reaches the power asked for.
type UnaffordableError struct {
	Wanted float64 // power asked for
	Most   int     // largest number allowed
	Best   Answer  // what the largest number reaches; all zero but N and DF if it leaves fewer than 1 degree of freedom
}

func (e *UnaffordableError) Error() string {
	if e.Best.DF < 1 {
		return fmt.Sprintf("no affordable number would do: %d leave no degrees of freedom for the noise", e.Most)
	}
	return fmt.Sprintf("no affordable number would do: %d reach power %.3f, not %.3f", e.Most, e.Best.Power, e.Wanted)
}

// Needed returns the smallest number, from g.Least to most, with which a
// campaign reaches t at the noise t.Noise.SD, and what it achieves. The error is
// an [*UnaffordableError] if none does. It panics if most < g.Least.
//
// The search doubles, then bisects, on the exact power, which grows with the number.
func (c Comparison) Needed(t Target, g Growth, most int) (Answer, error) {
	return c.search(t, g, most, func(p Precision) (float64, error) {
		power, _, err := c.chance(t, p)
		return power, err
	})
}

// NeededAssured is [Comparison.Needed] with the power averaged over what is not
// known about the noise, [Comparison.Assurance], and Answer.Power that average.
func (c Comparison) NeededAssured(t Target, g Growth, most int) (Answer, error) {
	return c.search(t, g, most, func(p Precision) (float64, error) {
		return c.Assurance(t, p)
	})
}

// search returns the smallest n from g.Least to most whose power is t.Power or more.
func (c Comparison) search(t Target, g Growth, most int, power func(Precision) (float64, error)) (Answer, error) {
	if g.At == nil || most < g.Least {
		panic("power: a search needs a growth and a largest number no less than its least")
	}
	if err := t.check(); err != nil {
		return Answer{}, err
	}
	at := func(n int) (float64, error) {
		p := g.At(n)
		if err := p.check(); err != nil {
			return 0, nil // nothing can be concluded yet: no power
		}
		return power(p)
	}
	// Invariant: the power is short at every n below low, and, once found, reached at high.
	low, high, found := g.Least, g.Least, false
	for {
		got, err := at(high)
		if err != nil {
			return Answer{}, err
		}
		if got >= t.Power {
			found = true
			break
		}
		low = high + 1
		if high == most {
			break
		}
		high = min(most, 2*high+1)
	}
	for found && low < high {
		mid := low + (high-low)/2
		got, err := at(mid)
		if err != nil {
			return Answer{}, err
		}
		if got >= t.Power {
			high = mid
		} else {
			low = mid + 1
		}
	}

	answer := Answer{N: high, Short: true}
	p := g.At(high)
	if p.check() == nil {
		got, err := power(p)
		if err != nil {
			return Answer{}, err
		}
		if answer, err = c.Reach(t, p); err != nil {
			return Answer{}, err
		}
		answer.N, answer.Power, answer.Short = high, got, got < t.Power
	} else {
		answer.DF = p.DF
	}
	if !found {
		return Answer{}, &UnaffordableError{Wanted: t.Power, Most: most, Best: answer}
	}
	return answer, nil
}

// Range is how many it takes as far as measured noise can tell.
type Range struct {
	Low, High Answer // if the noise is at the lower and upper limit of its interval
	Likely    Answer // if the noise is what was measured
	Assured   Answer // with the power averaged over what is not known about the noise; the number to plan with
}

// Range returns what [Comparison.Needed] says at the limits of the noise's
// interval with the given confidence and at its estimate, and what
// [Comparison.NeededAssured] says. Where no number up to most would do, the
// answer is the best reached, with Short set.
func (c Comparison) Range(t Target, g Growth, most int, confidence float64) (Range, error) {
	if err := t.check(); err != nil {
		return Range{}, err
	}
	low, high := t.Noise.Interval(confidence)
	best := func(a Answer, err error) (Answer, error) {
		if short, ok := errors.AsType[*UnaffordableError](err); ok {
			return short.Best, nil
		}
		return a, err
	}
	at := func(sd float64) (Answer, error) {
		t := t
		t.Noise.SD = sd
		return best(c.Needed(t, g, most))
	}
	var r Range
	var err error
	if r.Low, err = at(low); err != nil {
		return Range{}, err
	}
	if r.Likely, err = at(t.Noise.SD); err != nil {
		return Range{}, err
	}
	if r.High, err = at(high); err != nil {
		return Range{}, err
	}
	if r.Assured, err = best(c.NeededAssured(t, g, most)); err != nil {
		return Range{}, err
	}
	return r, nil
}
