package parallel

import (
	"errors"
	"io"
	"strings"
	"sync/atomic"
	"testing"
)

func TestWait(t *testing.T) {
	t.Parallel()
	var done atomic.Int32
	var g Group
	for range 10 {
		g.Go(func() { done.Add(1) })
	}
	g.Wait()
	if done.Load() != 10 {
		t.Errorf("%d pieces of work done, want 10", done.Load())
	}
}

// TestPanic: the panic of one piece reaches the caller once all others are done.
func TestPanic(t *testing.T) {
	t.Parallel()
	var done atomic.Int32
	var g Group
	for i := range 10 {
		g.Go(func() {
			if i == 3 {
				panic(io.ErrUnexpectedEOF)
			}
			done.Add(1)
		})
	}
	defer func() {
		err, ok := recover().(error)
		if !ok || !errors.Is(err, io.ErrUnexpectedEOF) || !strings.Contains(err.Error(), "TestPanic") {
			t.Errorf("recovered %v, want the cause and where it was", err)
		}
		if done.Load() != 9 {
			t.Errorf("%d pieces of work done, want the 9 others", done.Load())
		}
	}()
	g.Wait()
	t.Error("no panic")
}
