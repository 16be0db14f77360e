package main

import (
	"context"
	"io"
	"time"

	"github.com/schollz/progressbar/v3"
)

const (
	// patience is how long a person waits before there is a sign of something to wait for.
	patience = time.Second
	// beat is how often the sign that work goes on moves.
	beat = 200 * time.Millisecond
)

// whileBusy does work and, when it takes longer than patience and errs is a terminal, shows that it goes on.
func whileBusy(ctx context.Context, errs io.Writer, doing string, work func() error) error {
	if _, ok := terminal(errs); !ok {
		return work()
	}
	return showBusy(ctx, errs, doing, patience, work)
}

// showBusy does work and, from a time on, shows a moving sign and how long it has taken; the line is clear
// again when it is done, or ctx ends. What work panics with is returned as a crash.
func showBusy(ctx context.Context, w io.Writer, doing string, from time.Duration, work func() error) error {
	done := make(chan error, 1)
	go func() { done <- guarded(work) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return <-done
	case <-time.After(from):
	}
	sign := progressbar.NewOptions(-1,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetDescription(doing),
		progressbar.OptionSpinnerType(14),
		progressbar.OptionSetElapsedTime(true),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionSetSpinnerChangeInterval(0),
	)
	tick := time.NewTicker(beat)
	defer tick.Stop()
	for {
		_ = sign.Add(1) // a sign that cannot be shown is no reason to stop
		select {
		case err := <-done:
			_ = sign.Finish()
			return err
		case <-ctx.Done():
			_ = sign.Finish()
			return <-done
		case <-tick.C:
		}
	}
}
