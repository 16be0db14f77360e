package main

import (
	"io"
	"time"

	"github.com/schollz/progressbar/v3"
)

const (
	// patience is how long a person waits before being told that there is something to wait for.
	patience = time.Second
	// beat is how often the sign that work goes on moves.
	beat = 200 * time.Millisecond
)

// whileBusy does work and, when it takes longer than patience and errs is a terminal, shows that it goes on.
func whileBusy(errs io.Writer, doing string, work func() error) error {
	if _, ok := terminal(errs); !ok {
		return work()
	}
	return showBusy(errs, doing, patience, work)
}

// showBusy does work and, from a time on, shows a moving sign and how long it has taken; the line is clear
// again when it is done. What work panics with reaches the caller.
func showBusy(w io.Writer, doing string, from time.Duration, work func() error) error {
	type end struct {
		err   error
		panic any
	}
	done := make(chan end, 1)
	go func() {
		var e end
		defer func() {
			e.panic = recover()
			done <- e
		}()
		e.err = work()
	}()
	finish := func(e end) error {
		if e.panic != nil {
			panic(e.panic)
		}
		return e.err
	}
	select {
	case e := <-done:
		return finish(e)
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
		case e := <-done:
			_ = sign.Finish()
			return finish(e)
		case <-tick.C:
		}
	}
}
