package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/measure"
	"fairrun/design/sheet"
)

const (
	quietTime = 2 * time.Second // for which a log has not grown when its logger is done
	tryAgain  = 10 * time.Second
	lookAgain = time.Second // between looks at the folder, where the system does not report what changes
)

// watcher takes each new log for a run.
type watcher struct {
	std     streams
	dir     string // of the campaign
	folder  string // of the logs, seen from there
	replace bool
	quiet   time.Duration
	look    time.Duration

	files map[string]arrival // by their paths seen from the campaign's folder
}

// arrival is what is known of a file in the folder.
type arrival struct {
	size    int64
	changed time.Time // as the file says
	since   time.Time // when it was last seen to change
	done    bool      // it was taken, or was there before
}

// watch waits for logs until ctx ends, which is its good end.
func (w *watcher) watch(ctx context.Context) error {
	where := filepath.Join(w.dir, filepath.FromSlash(w.folder))
	events, err := fsnotify.NewWatcher()
	if err != nil {
		return fmt.Errorf("the folder %s cannot be watched: %w", where, err)
	}
	defer events.Close()
	if err := events.Add(where); err != nil {
		return fmt.Errorf("the folder %s cannot be watched: %w", where, err)
	}
	if err := w.begin(where); err != nil {
		return err
	}
	tick := time.NewTicker(w.look)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			fmt.Fprintln(w.std.Out, "Stopped. Start it again to go on with the next run.")
			return nil
		case err := <-events.Errors:
			say(w.std.Err, fmt.Sprintf("%s: %v; it is looked at each second all the same", where, err))
		case <-events.Events:
		case <-tick.C:
		}
		if err := w.scan(ctx, where); err != nil && ctx.Err() == nil {
			return err
		}
	}
}

// begin notes the files that are there already.
func (w *watcher) begin(where string) error {
	s, err := sheet.Open(w.dir)
	if err != nil {
		return err
	}
	w.files = map[string]arrival{}
	if err := w.list(where, func(file string, a arrival) { a.done = true; w.files[file] = a }); err != nil {
		return err
	}
	loose := 0
	for file := range w.files {
		if !slices.ContainsFunc(s.Runs, func(r sheet.Run) bool { return filepath.ToSlash(filepath.Clean(r.Log)) == file }) {
			loose++
		}
	}
	if loose > 0 {
		say(w.std.Err, fmt.Sprintf("%d of the files in %s belong to no run yet; they are left: name them in the column log, or measure them by the pattern of [log]", loose, where))
	}
	fmt.Fprintf(w.std.Out, "Waiting for logs in %s; Ctrl-C stops.\n", where)
	return render.Next(s, inFolder(w.dir)).Write(w.std.Out, render.Terminal, styleOf(w.std.Out))
}

// list calls f for each file that may be a log.
func (w *watcher) list(where string, f func(file string, a arrival)) error {
	entries, err := os.ReadDir(where)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || strings.HasPrefix(e.Name(), ".") || strings.HasSuffix(e.Name(), "~") || strings.HasSuffix(e.Name(), ".tmp") || strings.HasSuffix(e.Name(), ".part") {
			continue
		}
		info, err := e.Info()
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		f(filepath.ToSlash(filepath.Join(filepath.FromSlash(w.folder), e.Name())), arrival{size: info.Size(), changed: info.ModTime(), since: time.Now()})
	}
	return nil
}

// scan looks for files that are new and have stopped growing, the oldest first, and takes them.
func (w *watcher) scan(ctx context.Context, where string) error {
	var ready []string
	err := w.list(where, func(file string, now arrival) {
		was, known := w.files[file]
		switch {
		case !known || was.size != now.size || !was.changed.Equal(now.changed):
			w.files[file] = now
		case !was.done && now.size > 0 && time.Since(was.since) >= w.quiet:
			ready = append(ready, file)
		}
	})
	if err != nil {
		return err
	}
	slices.SortFunc(ready, func(a, b string) int {
		if c := w.files[a].changed.Compare(w.files[b].changed); c != 0 {
			return c
		}
		return strings.Compare(a, b)
	})
	for _, file := range ready {
		a := w.files[file]
		err := w.take(ctx, file)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil: // as when the sheet is just being saved elsewhere
			say(w.std.Err, fmt.Sprintf("%s: %v; it is tried again", file, err))
			a.since = time.Now().Add(tryAgain)
		default:
			a.done = true
		}
		w.files[file] = a
	}
	return nil
}

// take measures a log as that of its run, stores it, and says what to set next.
func (w *watcher) take(ctx context.Context, file string) error {
	s, err := sheet.Open(w.dir)
	if err != nil {
		return err
	}
	source, ok := measure.Arrived(s, file)
	if !ok {
		say(w.std.Err, fmt.Sprintf("%s: all runs are made; it belongs to none", file))
		return nil
	}
	var results []measure.Result
	if err := measure.All(ctx, w.dir, s, []measure.LogFile{source}, func(r measure.Result) { results = append(results, r) }); err != nil {
		return err
	}
	stored, err := measure.Store(w.dir, results, w.replace, time.Now())
	if err != nil {
		return err
	}
	missing, notes := render.MeasuredNotes(stored)
	for _, line := range slices.Concat(notes, missing) {
		say(w.std.Err, line)
	}
	if s, err = sheet.Open(w.dir); err != nil {
		return err
	}
	return render.Arrived(s, &stored[0], inFolder(w.dir)).Write(w.std.Out, render.Terminal, styleOf(w.std.Out))
}

// logFolder is where the logs of a campaign come in: the folder of the plan's pattern, otherwise logs.
func logFolder(s *sheet.Sheet) string {
	if l := s.Campaign.Log; l != nil && l.Files != "" {
		if dir := filepath.ToSlash(filepath.Dir(filepath.FromSlash(l.Files))); !strings.Contains(dir, "{") {
			return dir
		}
	}
	return "logs"
}
