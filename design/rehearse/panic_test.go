package rehearse

import (
	"testing"

	"fairrun/design/lot"
	"fairrun/stats/parallel"
)

// TestPanic: a panic in one campaign reaches the goroutine that called, and no further campaigns begin.
func TestPanic(t *testing.T) {
	t.Parallel()
	e, err := newEngine(read(t, sixty), 1)
	if err != nil {
		t.Fatal(err)
	}
	e.world = func(*worker, [][]int, *lot.Stream) { panic("no bench") }
	last := 0
	defer func() {
		if p, ok := recover().(*parallel.Panic); !ok || p.Value != "no bench" {
			t.Errorf("recovered %v, want the panic of the campaign", p)
		}
		if last != 0 {
			t.Errorf("%d campaigns done", last)
		}
	}()
	_, _ = e.run(t.Context(), Options{Campaigns: 10_000_000, Progress: func(done int) { last = done }})
	t.Error("no panic")
}
