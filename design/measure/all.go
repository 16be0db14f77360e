package measure

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"fairrun/design/fault"
	"fairrun/design/log"
	"fairrun/design/sheet"
	"fairrun/stats/parallel"
)

// Result is what became of one run.
type Result struct {
	Run
	Made  bool  // the log is entered in the sheet even if it gives no value
	Named bool  // the sheet names the log
	Fault error // the log could not be read
	Known bool  // it was measured before, from the same log by the same definitions
}

// All measures the logs of a campaign, on all processors. Runs that the record of the folder holds from
// the same logs and by the same definitions are taken from there. done is called for each run, in
// any order, from one goroutine at a time. An end of ctx is the only error.
func All(ctx context.Context, dir string, s *sheet.Sheet, sources []LogFile, done func(Result)) error {
	w, err := newWorker(dir, s.Campaign)
	if err != nil {
		return err
	}
	record, err := Read(dir)
	if err != nil {
		return err
	}
	var group parallel.Group
	var next atomic.Int64
	var one sync.Mutex
	for range min(runtime.GOMAXPROCS(0), len(sources)) {
		group.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(sources) || ctx.Err() != nil {
					return
				}
				r := w.result(ctx, record, sources[i])
				if ctx.Err() != nil {
					return
				}
				one.Lock()
				done(r)
				one.Unlock()
			}
		})
	}
	group.Wait()
	return ctx.Err()
}

// result measures one run, or takes it from the record.
func (w *worker) result(ctx context.Context, record *Measured, s LogFile) Result {
	if old := record.Of(s.Run); old != nil && w.holds(ctx, old, s) {
		return Result{Run: *old, Made: s.Made, Named: s.Named, Known: true}
	}
	run, err := w.run(ctx, s)
	return Result{Run: run, Made: s.Made, Named: s.Named, Fault: err}
}

// holds reports whether a run in the record is what measuring it again would give.
func (w *worker) holds(ctx context.Context, old *Run, s LogFile) bool {
	if old.File != s.File || old.SHA256 == "" {
		return false
	}
	measured := 0
	for _, r := range w.plan.Responses {
		if r.Measure == nil {
			continue
		}
		if measured == len(old.Values) {
			return false
		}
		if v := &old.Values[measured]; v.Response != r.Name || v.Unit != r.Unit || v.Definition != w.definition(r.Measure) {
			return false
		}
		measured++
	}
	path, err := within(w.dir, s.File)
	if err != nil || measured != len(old.Values) {
		return false
	}
	sum, err := log.Hash(ctx, path)
	return err == nil && sum == old.SHA256
}

// Text writes a measured value for the run sheet: with so many decimals that rounding is a
// hundredth of its uncertainty or less, and a dozen digits at most.
func (v *Value) Text() string {
	if v.Value == nil {
		return ""
	}
	decimals := 12
	if u := v.Uncertainty; u != nil && *u > 0 {
		decimals = min(decimals, 1-int(math.Floor(math.Log10(*u))))
	}
	if x := math.Abs(*v.Value); x > 0 {
		decimals = min(decimals, 11-int(math.Floor(math.Log10(x))))
	}
	decimals = max(decimals, 0)
	text := strconv.FormatFloat(*v.Value, 'f', decimals, 64)
	if v.Uncertainty == nil || *v.Uncertainty == 0 {
		x, _ := strconv.ParseFloat(text, 64) // it was written a line above
		text = strconv.FormatFloat(x, 'f', -1, 64)
	}
	return text
}

// Stored is what became of the values of one run in the sheet.
type Stored struct {
	Result
	Changed bool  // the sheet has them now and had not
	Refused error // a cell holds another value, which was kept
}

// Store enters what was measured in the run sheet as record does, a run after the other, and keeps all of it
// in the record. Values that are there and differ are replaced only if replace is given.
func Store(dir string, results []Result, replace bool, now time.Time) ([]Stored, error) {
	slices.SortFunc(results, func(a, b Result) int { return a.Run.Run - b.Run.Run })
	stored := make([]Stored, len(results))
	var runs []Run
	for i, r := range results {
		stored[i].Result = r
		runs = append(runs, r.Run)
		var set []sheet.Assignment
		for k := range r.Values {
			if text := r.Values[k].Text(); text != "" {
				set = append(set, sheet.Assignment{Name: r.Values[k].Response, Value: text})
			}
		}
		if len(set) == 0 && (!r.Made || r.Fault != nil) {
			continue // nothing was measured: the run stays as it is
		}
		if !r.Named && (len(set) > 0 || r.Made) {
			set = append(set, sheet.Assignment{Name: "log", Value: r.File})
		}
		if len(set) == 0 {
			continue
		}
		recorded, err := sheet.Record(dir, r.Run.Run, set, replace, now)
		switch {
		case err == nil:
			stored[i].Changed = recorded.Changed
		case len(fault.In(err)) > 0:
			stored[i].Refused = err
		default:
			return stored[:i], errors.Join(err, keep(dir, runs[:i]))
		}
	}
	return stored, keep(dir, runs)
}

// Bytes is the size of the logs on disk, for a sign of progress.
func Bytes(dir string, sources []LogFile) (total int64) {
	for _, s := range sources {
		if info, err := os.Stat(filepath.Join(dir, filepath.FromSlash(s.File))); err == nil {
			total += info.Size()
		}
	}
	return total
}
