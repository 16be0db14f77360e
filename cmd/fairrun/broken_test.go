package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"fairrun/design/disk"
)

// callCommand runs a command in this process.
func callCommand(out *bytes.Buffer, args ...string) (code int, errs string) {
	var e bytes.Buffer
	code = run(context.Background(), append([]string{"fairrun"}, args...), streams{In: strings.NewReader(""), Out: out, Err: &e})
	return code, e.String()
}

// init broken off at any call of the system leaves no half a plan, and a second one works.
func TestInitBrokenAnywhere(t *testing.T) {
	args := func(dir string) []string {
		return []string{"init", dir, "--scope", "thruster", "--factor", "weakening [A] = 0, 4", "--response", "spin_up [ms] lower 2%"}
	}
	for at := 1; ; at++ {
		dir := filepath.Join(t.TempDir(), "tank")
		calls := 0
		mend := disk.Break(func(disk.Op, string) error {
			if calls++; calls == at {
				return syscall.ENOSPC
			}
			return nil
		})
		code, errs := callCommand(&bytes.Buffer{}, args(dir)...)
		mend()
		if calls < at {
			if code != exitDone {
				t.Errorf("unbroken: %s", errs)
			}
			break
		}
		entries, err := os.ReadDir(dir)
		switch {
		case err != nil && !errors.Is(err, os.ErrNotExist):
			t.Fatal(err)
		case code != exitDone && !strings.Contains(errs, "no space left"):
			t.Errorf("call %d: exit code %d, %s", at, code, errs)
		case code != exitDone && len(entries) > 1: // a file that could not be removed is one
			t.Errorf("call %d: left behind %v", at, entries)
		case code == exitDone:
			continue
		}
		if _, err := os.Stat(filepath.Join(dir, planFile)); err == nil {
			t.Errorf("call %d: exit code %d, and there is a plan", at, code)
		}
		if code, errs := callCommand(&bytes.Buffer{}, args(dir)...); code != exitDone {
			t.Errorf("call %d, then again: exit code %d, %s", at, code, errs)
		}
	}
}

// full is an output that takes nothing.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, syscall.ENOSPC }

// What is stored is done, whether it can be printed or not: a second try would do it twice.
func TestStoredThoughNothingCanBePrinted(t *testing.T) {
	dir := t.TempDir()
	plan := "title = \"t\"\nscope = \"s\"\nseed = 41\n[[factor]]\nname = \"weakening\"\nlevels = [0, 8]\n[block]\nname = \"pack\"\ncount = 2\nreplicates = 2\n" +
		"[[response]]\nname = \"spin_up\"\nbetter = \"lower\"\nmargin = \"2%\"\nnoise = \"1%\"\n"
	if err := os.WriteFile(filepath.Join(dir, planFile), []byte(plan), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"sheet", dir}, {"record", "1", "spin_up=600", "--in", dir}, {"extend", "--blocks", "1", dir}} {
		var errs bytes.Buffer
		code := run(context.Background(), append([]string{"fairrun"}, args...), streams{In: strings.NewReader(""), Out: full{}, Err: &errs})
		if code != exitDone || !strings.Contains(errs.String(), "but that cannot be printed: no space left on device") {
			t.Errorf("%s: exit code %d, %s", args[0], code, errs.String())
		}
	}
}
