package main

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"time"
)

func TestBusy(t *testing.T) {
	failed := errors.New("no order")
	slow := func() error { time.Sleep(50 * time.Millisecond); return failed }

	var shown bytes.Buffer
	if err := showBusy(t.Context(), &shown, "searching", time.Millisecond, slow); err != failed {
		t.Errorf("error %v, want %v", err, failed)
	}
	if !strings.Contains(shown.String(), "searching") {
		t.Errorf("shown %q, which does not say what is done", shown.String())
	}
	if line := shown.String(); strings.TrimSpace(line[strings.LastIndex(strings.TrimRight(line, "\r"), "\r")+1:]) != "" {
		t.Errorf("the line is not clear at the end: %q", line)
	}

	// Soon done, or not at a terminal: nothing is shown.
	shown.Reset()
	if err := showBusy(t.Context(), &shown, "searching", time.Minute, slow); err != failed || shown.Len() > 0 {
		t.Errorf("error %v, shown %q", err, shown.String())
	}
	if err := whileBusy(t.Context(), &shown, "searching", slow); err != failed || shown.Len() > 0 {
		t.Errorf("error %v, shown %q", err, shown.String())
	}
	err := showBusy(t.Context(), &shown, "searching", time.Millisecond, func() error { time.Sleep(20 * time.Millisecond); panic("broken") })
	if broken := (*crash)(nil); !errors.As(err, &broken) || broken.value != "broken" {
		t.Errorf("error %v, want the panic of the work", err)
	}
}

// When the person interrupts, the line is clear while the work still ends.
func TestBusyInterrupted(t *testing.T) {
	ctx, interrupt := context.WithCancel(t.Context())
	var shown bytes.Buffer
	err := showBusy(ctx, &shown, "searching", time.Millisecond, func() error {
		time.Sleep(20 * time.Millisecond)
		interrupt()
		return ctx.Err()
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want that of the work", err)
	}
	line := strings.TrimRight(shown.String(), "\r")
	if line = strings.TrimSpace(line[strings.LastIndex(line, "\r")+1:]); line != "" {
		t.Errorf("the line still shows %q", line)
	}
}
