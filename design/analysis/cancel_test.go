package analysis_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
)

// TestVerdictStops ends the context in the middle of a randomisation test that would take minutes. On an idle machine
// it stops in a tenth of the second that it is given.
func TestVerdictStops(t *testing.T) {
	t.Parallel()
	s := campaigntest.Sixty(t)
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	v, err := analysis.VerdictOver(ctx, s, 10_000_000)
	if v != nil || !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("verdict %v, error %v; want none and that of the deadline", v, err)
	}
	deadline, _ := ctx.Deadline()
	if took := time.Since(deadline); took > time.Second {
		t.Errorf("it stopped %v after the deadline, want a second at the most", took)
	}
}
