package sheet

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func TestDoneOrder(t *testing.T) {
	at := func(minute int) time.Time { return time.Date(2026, 5, 9, 9, minute, 0, 0, bench) }
	run := func(number, block, position int, status Status, done time.Time) Run {
		return Run{Run: number, Block: block, Position: position, Status: status, DoneAt: done}
	}
	tests := []struct {
		name string
		runs []Run
		want DoneOrder
	}{
		{"nothing done", []Run{run(1, 1, 1, ToDo, time.Time{}), run(2, 1, 2, ToDo, time.Time{})},
			DoneOrder{Position: []int{1, 2}}},
		{"as drawn", []Run{run(1, 1, 1, OK, at(1)), run(2, 1, 2, Failed, at(2)), run(3, 1, 3, OK, at(3))},
			DoneOrder{Position: []int{1, 2, 3}}},
		{"as drawn, one left out", []Run{run(1, 1, 1, OK, at(1)), run(2, 1, 2, ToDo, time.Time{}), run(3, 1, 3, OK, at(3))},
			DoneOrder{Position: []int{1, 2, 3}}},
		{"two exchanged", []Run{run(1, 1, 1, OK, at(1)), run(2, 1, 2, Void, at(5)), run(3, 1, 3, OK, at(3)), run(4, 1, 4, OK, at(8))},
			DoneOrder{Position: []int{1, 3, 2, 4}, Moved: []int{2, 3}}},
		{"exchanged, one to do", []Run{run(1, 1, 1, OK, at(9)), run(2, 1, 2, ToDo, time.Time{}), run(3, 1, 3, OK, at(3))},
			DoneOrder{Position: []int{2, 3, 1}, Moved: []int{1, 3}}},
		{"equal times", []Run{run(1, 1, 1, OK, at(1)), run(2, 1, 2, OK, at(1)), run(3, 1, 3, OK, at(0))},
			DoneOrder{Position: []int{2, 3, 1}, Moved: []int{1, 2, 3}}},
		{"a time missing", []Run{run(1, 1, 1, OK, at(5)), run(2, 1, 2, OK, time.Time{}), run(3, 1, 3, OK, at(1))},
			DoneOrder{Position: []int{1, 2, 3}, Untimed: []int{1}}},
		{"each block for itself", []Run{run(1, 1, 1, OK, at(5)), run(2, 1, 2, OK, at(6)), run(3, 2, 1, OK, at(2)), run(4, 2, 2, OK, at(1)), run(5, 3, 1, OK, time.Time{}), run(6, 3, 2, ToDo, time.Time{})},
			DoneOrder{Position: []int{1, 2, 2, 1, 1, 2}, Moved: []int{3, 4}, Untimed: []int{3}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := &Sheet{Runs: tt.runs}
			if diff := cmp.Diff(tt.want, s.DoneOrder()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}
