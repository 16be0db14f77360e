package sheet

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"fairrun/design/disk"
	"fairrun/design/plan"
	"fairrun/design/store"
	"fairrun/design/table"
)

// files are the files of the current folder but for the lock.
func files(t *testing.T) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]string{}
	for _, e := range entries {
		if e.Name() != store.LockFile {
			all[e.Name()] = read(t, e.Name())
		}
	}
	return all
}

// Each way of writing in a campaign's folder, broken off at any call of the system: all files are as they
// were or as they were to be, the folder can be read at once, and the next command does its work.
func TestBrokenAnywhere(t *testing.T) {
	text := read(t, "testdata/campaign.toml")
	unseeded := strings.Replace(text, "seed  = 41\n", "", 1)
	if unseeded == text {
		t.Fatal("the plan has no seed to take out")
	}
	draw := func() error {
		c, err := plan.Read(PlanFile)
		if err == nil {
			d, e := NewOrder(c, 41)
			if e != nil {
				return e
			}
			_, err = Write(".", c, d, drawnAt, table.Dialect{})
		}
		return err
	}
	record := func() error {
		_, err := Record(".", 1, values("spin_up=300"), false, recordedAt)
		return err
	}
	extend := func() error {
		_, _, err := Extend(".", 1, extendedAt)
		return err
	}
	for _, kind := range []struct {
		name   string
		before func() error // nil: there is only a plan
		write  func() error
	}{
		{"draw", nil, draw},
		{"draw again", draw, draw},
		{"record", draw, record},
		{"extend", func() error { return errors.Join(draw(), record()) }, extend},
		{"take back", func() error { return errors.Join(draw(), record()) }, func() error {
			_, err := Undo(".", recordedAt)
			return err
		}},
		{"rebuild", func() error { return errors.Join(draw(), record(), os.Remove(File)) }, func() error {
			_, _, err := Rebuild(".", table.Dialect{}, recordedAt)
			return err
		}},
		{"repair", func() error {
			if err := draw(); err != nil {
				return err
			}
			stale := read(t, File)
			return errors.Join(record(), os.WriteFile(File, []byte(stale), 0o644))
		}, func() error {
			_, err := Repair(".", false, recordedAt)
			return err
		}},
	} {
		for _, kill := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s killed %v", kind.name, kill), func(t *testing.T) {
				t.Chdir(t.TempDir())
				write(t, PlanFile, unseeded)
				if kind.before != nil {
					if err := kind.before(); err != nil {
						t.Fatal(err)
					}
				}
				old := files(t)
				if err := kind.write(); err != nil {
					t.Fatal(err)
				}
				want := files(t)
				step := 1
				if testing.Short() {
					step = 5 // each call is tried in the long tests
				}
				for at := 1; ; at += step {
					for name := range files(t) {
						if err := os.Remove(name); err != nil {
							t.Fatal(err)
						}
					}
					for name, data := range old {
						write(t, name, data)
					}
					calls, broken := 0, ""
					mend := disk.Break(func(op disk.Op, path string) error {
						if calls++; calls == at || kill && calls > at {
							if calls == at {
								broken = fmt.Sprintf("call %d, %s %s", at, op, filepath.Base(path))
							}
							return syscall.EIO
						}
						return nil
					})
					err := kind.write()
					mend()
					if broken == "" {
						break
					}
					if _, e := Open("."); e != nil && !errors.Is(e, ErrNotDrawn) {
						t.Errorf("%s: reading then: %v", broken, e)
					}
					f, e := store.Lock(".")
					if e != nil {
						t.Fatalf("%s: the next writer: %v", broken, e)
					}
					f.Release()
					got := files(t)
					if isOld, isNew := maps.Equal(got, old), maps.Equal(got, want); !isOld && !isNew || err == nil && !isNew || err != nil && !kill && !isOld {
						t.Errorf("%s: error %v, files old %v, new %v", broken, err, isOld, isNew)
					}
				}
			})
		}
	}
}
