package verdict

import (
	"context"
	"errors"
	"testing"
	"time"
)

// endsIn returns how long work takes from the end of its context, which ends after a while.
func endsIn(t *testing.T, after time.Duration, work func(ctx context.Context) error) time.Duration {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan time.Time, 1)
	time.AfterFunc(after, func() {
		ended <- time.Now()
		cancel()
	})
	if err := work(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v, want that of the context", err)
	}
	return time.Since(<-ended)
}

// promptly is how soon work has to end; on an idle machine it takes a tenth of this.
const promptly = time.Second

// TestAnalyseStops ends the context in the middle of a randomisation test that would take minutes.
func TestAnalyseStops(t *testing.T) {
	t.Parallel()
	d := bench(t, 60, 5, 6, 4)
	d.Draw = &Draw{Treatments: 5, Drawn: d.Treatments[0].Code, Orders: 10_000_000, Sampler: func(int) func([]int32) {
		return func(order []int32) { copy(order, d.Treatments[0].Code) }
	}}
	took := endsIn(t, 50*time.Millisecond, func(ctx context.Context) error {
		_, err := Analyse(ctx, d, Request{})
		return err
	})
	if took > promptly {
		t.Errorf("it stopped after %v, want %v at the most", took, promptly)
	}
}

// TestAnalyseDoesNotStart gives a context that has ended, by a deadline.
func TestAnalyseDoesNotStart(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithDeadline(t.Context(), time.Now())
	defer cancel()
	if v, err := Analyse(ctx, bench(t, 60, 5, 6, 1), Request{}); v != nil || !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("verdict %v, error %v; want none and that of the deadline", v, err)
	}
}
