package analysis

import (
	"time"

	"fairrun/design/sheet"
)

// progress is how far a campaign has got.
type progress struct {
	blocks   int     // drawn
	complete int     // without a run that is still to do
	begun    []int   // blocks, from 1, that are begun and not complete
	share    float64 // of the runs that are analysed: made
}

// progressOf is how far the runs of a sheet have got. Warm-up runs do not count.
func progressOf(s *sheet.Sheet) progress {
	return progressBy(s, len(s.Draw.Order.Blocks), func(r *sheet.Run) bool { return r.Status != sheet.ToDo })
}

// progressAt is how far the first blocks had got at some time. A run that was made
// nobody knows when counts as made by then.
func progressAt(s *sheet.Sheet, blocks int, at time.Time) progress {
	return progressBy(s, blocks, func(r *sheet.Run) bool { return madeBy(r, at) })
}

// madeBy says whether a run was made by some time, as far as is known.
func madeBy(r *sheet.Run, at time.Time) bool {
	return r.Status != sheet.ToDo && (r.DoneAt.IsZero() || !r.DoneAt.After(at))
}

func progressBy(s *sheet.Sheet, blocks int, made func(*sheet.Run) bool) progress {
	p := progress{blocks: blocks}
	done, all := make([]int, blocks), make([]int, blocks)
	runs := 0
	for i := range s.Runs {
		r := &s.Runs[i]
		if r.Role == sheet.Warmup || r.Block > blocks {
			continue
		}
		all[r.Block-1]++
		if made(r) {
			done[r.Block-1]++
			runs++
		}
	}
	total := 0
	for b, n := range all {
		total += n
		switch {
		case done[b] == n:
			p.complete++
		case done[b] > 0:
			p.begun = append(p.begun, b+1)
		}
	}
	p.share = float64(runs) / float64(total)
	return p
}
