package question

import (
	"time"

	"fairrun/design/sheet"
)

// Progress is how far a campaign has got.
type Progress struct {
	Blocks   int     // drawn
	Complete int     // without a run that is still to do
	Begun    []int   // blocks, from 1, that are begun and not complete
	Share    float64 // of the runs that are analysed: made
}

// ProgressOf is how far the runs of a sheet have got. Warm-up runs do not count.
func ProgressOf(s *sheet.Sheet) Progress {
	return progressBy(s, len(s.Draw.Order.Blocks), func(r *sheet.Run) bool { return r.Status != sheet.ToDo })
}

// ProgressAt is how far the first blocks had got at some time. A run that was made
// nobody knows when counts as made by then.
func ProgressAt(s *sheet.Sheet, blocks int, at time.Time) Progress {
	return progressBy(s, blocks, func(r *sheet.Run) bool { return MadeBy(r, at) })
}

// MadeBy says whether a run was made by some time, as far as is known.
func MadeBy(r *sheet.Run, at time.Time) bool {
	return r.Status != sheet.ToDo && (r.DoneAt.IsZero() || !r.DoneAt.After(at))
}

func progressBy(s *sheet.Sheet, blocks int, made func(*sheet.Run) bool) Progress {
	p := Progress{Blocks: blocks}
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
			p.Complete++
		case done[b] > 0:
			p.Begun = append(p.Begun, b+1)
		}
	}
	p.Share = float64(runs) / float64(total)
	return p
}
