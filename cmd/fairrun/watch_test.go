package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fairrun/design/sheet"
)

// shared is a buffer that a command writes while a test reads it.
type shared struct {
	mu     sync.Mutex
	buffer bytes.Buffer
}

func (s *shared) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buffer.Write(p)
}

func (s *shared) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buffer.String()
}

const watchedPlan = `title = "Thruster"
scope = "thruster no. 3"
seed = 41
[[factor]]
name = "weakening"
levels = [0, 8]
[block]
name = "pack"
count = 3
replicates = 1
[log]
time = { header = "t", unit = "ms" }
[log.columns]
rpm = { header = "Speed", unit = "rpm" }
[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
measure = { what = "transition", of = "rpm", from = "10%", to = "90%" }
`

// rise is a log of a speed that rises after so many ms, in two halves.
func rise(after float64) (first, second string) {
	var b strings.Builder
	b.WriteString("t,Speed\n")
	for i := range 1200 {
		t, x := float64(i), 0.0
		if t > after {
			x = 1 - math.Exp(-(t-after)/40)
		}
		fmt.Fprintf(&b, "%d,%.2f\n", i, 600+2400*x+float64(i*7919%101-50)/50)
	}
	text := b.String()
	return text[:len(text)/2], text[len(text)/2:]
}

// New logs are taken for the next runs once they have stopped growing; what is there already is left, a log without an
// edge leaves its cell empty and its run made, and an interrupt is a good end. Another start goes on.
func TestWatch(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	logs := filepath.Join(dir, "logs")
	put := func(path, text string) {
		t.Helper()
		f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(f, text); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	put(filepath.Join(dir, planFile), watchedPlan)
	if err := os.Mkdir(logs, 0o777); err != nil {
		t.Fatal(err)
	}
	if code := run(context.Background(), []string{"fairrun", "sheet", dir}, streams{Out: io.Discard, Err: io.Discard}); code != exitDone {
		t.Fatal(code)
	}
	put(filepath.Join(logs, "old.csv"), "t,Speed\n0,1\n1,2\n")

	out, errs := &shared{}, &shared{}
	start := func() (stop func()) {
		ctx, cancel := context.WithCancel(context.Background())
		done := make(chan error)
		w := &watcher{std: streams{Out: out, Err: errs}, dir: dir, folder: "logs", quiet: 300 * time.Millisecond, look: 20 * time.Millisecond}
		go func() { done <- w.watch(ctx) }()
		return func() {
			cancel()
			if err := <-done; err != nil {
				t.Errorf("it ended with %v", err)
			}
		}
	}
	wait := func(text string) {
		t.Helper()
		for begin := time.Now(); !strings.Contains(out.text()+errs.text(), text); time.Sleep(10 * time.Millisecond) {
			if time.Since(begin) > 20*time.Second {
				t.Fatalf("%q is not in\n%s\n%s", text, out.text(), errs.text())
			}
		}
	}
	stop := start()
	wait("Next is run 1")
	first, second := rise(300)
	put(filepath.Join(logs, "a.csv"), first)
	time.Sleep(100 * time.Millisecond)
	put(filepath.Join(logs, "a.csv"), second)
	wait("Run 1 (logs/a.csv): spin_up ")
	wait("Next is run 2")
	flat := "t,Speed\n"
	for i := range 100 {
		flat += fmt.Sprintf("%d,600\n", i)
	}
	put(filepath.Join(logs, "b.csv"), flat)
	wait("Run 2 (logs/b.csv): nothing was measured.")
	wait("run 2, spin_up: not measured, ")
	stop()
	wait("Stopped.")

	out = &shared{}
	stop = start()
	wait("Waiting for logs")
	put(filepath.Join(logs, "c.csv"), first+second)
	wait("Run 3 (logs/c.csv): spin_up ")
	stop()

	s, err := sheet.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if r := s.Runs; r[0].Values[0] == "" || r[0].Values[0] != r[2].Values[0] || r[1].Log != "logs/b.csv" || r[1].Values[0] != "" || r[3].Log != "" {
		t.Errorf("the sheet has %+v", r)
	}
	if !strings.Contains(errs.text(), "1 of the files in "+logs+" belong to no run yet") {
		t.Errorf("nothing is said of the old file: %s", errs.text())
	}
}
