package main

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"
)

func TestBusy(t *testing.T) {
	failed := errors.New("no order")
	slow := func() error { time.Sleep(50 * time.Millisecond); return failed }

	var shown bytes.Buffer
	if err := showBusy(&shown, "searching", time.Millisecond, slow); err != failed {
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
	if err := showBusy(&shown, "searching", time.Minute, slow); err != failed || shown.Len() > 0 {
		t.Errorf("error %v, shown %q", err, shown.String())
	}
	if err := whileBusy(&shown, "searching", slow); err != failed || shown.Len() > 0 {
		t.Errorf("error %v, shown %q", err, shown.String())
	}
	defer func() {
		if got := recover(); got != "broken" {
			t.Errorf("panic %v, want that of the work", got)
		}
	}()
	_ = showBusy(&shown, "searching", time.Millisecond, func() error { time.Sleep(20 * time.Millisecond); panic("broken") })
}
