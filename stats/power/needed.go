package power

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"fairrun/stats/law"
)

// Answer is what a campaign of one size achieves.
type Answer struct {
	N          int     // how many: of what the [Growth] counts
	Power      float64 // the chance of reaching the goal
	SE         float64 // standard error of a difference, in the response's unit
	DF         float64 // residual degrees of freedom
	Critical   float64 // half the width of an interval, in standard errors
	Detectable float64 // smallest true difference found with the power asked for, in the response's unit; +Inf: see [Test.Detectable]
	Short      bool    // the power asked for is not reached
}

// UnaffordableError says that no affordable number reaches the power asked for.
type UnaffordableError struct {
	Wanted float64 // power asked for
	Most   int     // largest number allowed
	Best   Answer  // what the largest number reaches; all zero but N and DF if it leaves no degrees of freedom
}

func (e *UnaffordableError) Error() string {
	if !(e.Best.DF > 0) {
		return fmt.Sprintf("no affordable number would do: %d leave no degrees of freedom for the noise", e.Most)
	}
	return fmt.Sprintf("no affordable number would do: %d reach power %.3f, not %.3f", e.Most, e.Best.Power, e.Wanted)
}

// Needed returns the smallest number, from g.Least to most, with which a
// campaign reaches t at the noise t.Noise.SD, and what it achieves. The error is
// an [*UnaffordableError] if none does. It panics if most < g.Least.
//
// A normal approximation says where to look; the exact power, which grows with
// the number, decides.
func (c Test) Needed(t Target, g Growth, most int) (Answer, error) {
	if err := t.check(); err != nil {
		return Answer{}, err
	}
	return c.search(t, g, most, c.guess(t, g, most), func(p Precision) (float64, error) {
		power, _, err := c.chance(t, p)
		return power, err
	})
}

// NeededAssured is [Test.Needed] with the power averaged over what is not
// known about the noise, [Test.Assurance], and Answer.Power that average.
func (c Test) NeededAssured(t Target, g Growth, most int) (Answer, error) {
	likely, err := bestReached(c.Needed(t, g, most))
	if err != nil {
		return Answer{}, err
	}
	return c.search(t, g, most, likely.N, func(p Precision) (float64, error) {
		return c.Assurance(t, p)
	})
}

// guess returns a number near the one that Needed returns: the first at which
// the margin has as many standard errors as the goal needs by the normal law.
func (c Test) guess(t Target, g Growth, most int) int {
	if g.At == nil || most < g.Least {
		panic("power: a search needs a growth and a largest number no less than its least")
	}
	normal := law.T{DF: math.Inf(1)}
	first := func(df float64) int {
		x := c.Family.Critical(c.Alpha, df)
		m := x + normal.Quantile(t.Power)
		switch {
		case t.Goal == Equal && c.sides() == 2:
			m = x + normal.Quantile((1+t.Power)/2)
		case t.Goal == Settle:
			m = 2 * x
		}
		enough := func(i int) bool {
			p := g.At(g.Least + i)
			return p.check() == nil && t.Margin >= m*t.Noise.SD*p.SE
		}
		return min(most, g.Least+sort.Search(most-g.Least, enough))
	}
	c.check()
	n := first(math.Inf(1))
	if p := g.At(n); p.check() == nil {
		n = first(p.DF)
	}
	return n
}

// search returns the smallest n from g.Least to most whose power is t.Power or
// more, looking in ever larger steps to either side of guess and then between.
func (c Test) search(t Target, g Growth, most, guess int, power func(Precision) (float64, error)) (Answer, error) {
	var failure error
	enough := func(n int) bool {
		p := g.At(n)
		if p.check() != nil {
			return false // nothing can be concluded yet: no power
		}
		got, err := power(p)
		if err != nil {
			failure = err
		}
		return got >= t.Power
	}
	// Invariant: every n below low is short; high is enough, or beyond most.
	low, high := g.Least, most+1
	if enough(guess) {
		high = guess
		for step := 1; high-step >= low; step *= 2 {
			if !enough(high - step) {
				low = high - step + 1
				break
			}
			high -= step
		}
	} else {
		low = guess + 1
		for step := 1; low <= most; step *= 2 {
			n := min(most, low+step-1)
			if enough(n) {
				high = n
				break
			}
			low = n + 1
		}
	}
	high = low + sort.Search(high-low, func(i int) bool { return enough(low + i) })
	if failure != nil {
		return Answer{}, failure
	}

	found := high <= most
	high = min(high, most)
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

// bestReached takes what the largest number reaches for an answer.
func bestReached(a Answer, err error) (Answer, error) {
	if short, ok := errors.AsType[*UnaffordableError](err); ok {
		return short.Best, nil
	}
	return a, err
}
