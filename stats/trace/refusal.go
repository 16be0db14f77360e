package trace

import (
	"errors"
	"fmt"
)

// refusal is the reason why something cannot be measured.
type refusal struct {
	reason string
	// steered is true where the value itself decides whether it is refused. The other
	// steps of the log then cannot stand in: they would be the long or the short ones.
	steered bool
	// held is how long the state after is recorded, s, where that is too short.
	held float64
}

func (r *refusal) Error() string { return r.reason }

func refusedf(format string, args ...any) error {
	return &refusal{reason: fmt.Sprintf(format, args...)}
}

// steeredf is refusedf for a reason that depends on the value.
func steeredf(format string, args ...any) error {
	return &refusal{reason: fmt.Sprintf(format, args...), steered: true}
}

// truncated refuses a step whose state after is recorded for too short a time.
func truncated(held, T float64) error {
	need := (settleAfter + 1) * T
	return &refusal{
		reason:  fmt.Sprintf("the state after the step is recorded for %.3g ms: hold it %.3g ms longer", 1e3*held, 1e3*(need-held)),
		steered: true, held: held,
	}
}

// steered reports whether a refusal depends on the value. A state that was recorded for
// too short a time even for the quickest of the other steps, of duration T, was
// cut off, whatever its step's duration.
func steered(err error, quickest float64) bool {
	var r *refusal
	return errors.As(err, &r) && r.steered && !(r.held > 0 && r.held < (settleAfter+1)*quickest)
}
