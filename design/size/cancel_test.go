package size

import (
	"context"
	"errors"
	"testing"

	"fairrun/design/internal/campaigntest"
)

// At the end of its context a question has no answer, but the error of the context.
func TestEndOfContext(t *testing.T) {
	t.Parallel()
	s := campaigntest.Sixty(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for name, ask := range map[string]func() (*Replicates, error){
		"before":            func() (*Replicates, error) { return Ask{}.Before(ctx, s.Campaign) },
		"after":             func() (*Replicates, error) { return Ask{}.After(ctx, s) },
		"before by a pilot": func() (*Replicates, error) { return Ask{Pilot: s}.Before(ctx, s.Campaign) },
	} {
		if r, err := ask(); r != nil || !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v, error %v; want no answer and that of the context", name, r, err)
		}
	}
}
