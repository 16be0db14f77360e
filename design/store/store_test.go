package store

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"fairrun/design/disk"

	"github.com/google/go-cmp/cmp"
)

var errInjected = errors.New("injected")

// contents are the files of a folder but for the lock, links followed.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, e := range entries {
		if e.Name() == LockFile || e.IsDir() {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		files[e.Name()] = string(data)
	}
	return files
}

func fill(t *testing.T, dir string, files map[string]string) {
	t.Helper()
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

// seen are files as readers see them.
func seen(t *testing.T, dir string, names ...string) map[string]string {
	t.Helper()
	files := map[string]string{}
	for i, c := range Read(dir, 1<<20, names...) {
		if c.Err == nil {
			files[names[i]] = string(c.Data)
		} else if !errors.Is(c.Err, os.ErrNotExist) {
			t.Fatal(c.Err)
		}
	}
	return files
}

func replace(dir string, changes ...Change) error {
	f, err := Lock(dir)
	if err != nil {
		return err
	}
	defer f.Release()
	return f.Replace(changes...)
}

// A change that is broken off at any call of the system, by an error or by the end of the program,
// leaves all files as they were or all as they were to be.
func TestReplaceBrokenAnywhere(t *testing.T) {
	type files = map[string]string
	kinds := []struct {
		name     string
		old, new files
		adds     string
	}{
		{"one file", files{"plan": "old"}, files{"plan": "new"}, ""},
		{"one new file", files{}, files{"plan": "new"}, ""},
		{"an addition", files{"plan": "old", "journal": "a\n"}, files{"plan": "new", "journal": "a\nb\n"}, "journal"},
		{"a first addition", files{"plan": "old"}, files{"plan": "new", "journal": "b\n"}, "journal"},
		{"all at once", files{"plan": "old plan", "sheet": "old sheet", "journal": "a\n"},
			files{"plan": "new plan", "sheet": "new sheet", "draw": "new draw", "journal": "a\nb\n"}, "journal"},
	}
	faults := []struct {
		name   string
		err    error
		kill   bool
		always disk.Op // fails wherever it is called
	}{
		{name: "fails", err: syscall.EIO},
		{name: "kills", err: errInjected, kill: true},
		{name: "fails without exchange", err: syscall.ENOSPC, always: disk.OpExchange},
		{name: "kills without exchange", err: errInjected, kill: true, always: disk.OpExchange},
		{name: "kills without links", err: errInjected, kill: true, always: disk.OpLink},
	}
	for _, k := range kinds {
		for _, fault := range faults {
			t.Run(k.name+" "+fault.name, func(t *testing.T) {
				for at := 1; ; at++ {
					dir := t.TempDir()
					fill(t, dir, k.old)
					var changes []Change
					for _, name := range slices.Sorted(maps.Keys(k.new)) {
						old, had := k.old[name]
						c := Change{Path: filepath.Join(dir, name), Data: []byte(k.new[name])}
						switch {
						case name == k.adds:
							c.Data, c.Append = []byte("b\n"), true
						case had:
							c.Old = []byte(old)
						default:
							c.Absent = true
						}
						changes = append(changes, c)
					}
					calls, broken := 0, ""
					mend := disk.Break(func(op disk.Op, path string) error {
						if fault.always == op {
							return syscall.ENOSYS
						}
						if calls++; calls == at || fault.kill && calls > at {
							if calls == at {
								broken = fmt.Sprintf("call %d, %s %s", at, op, filepath.Base(path))
							}
							return fault.err
						}
						return nil
					})
					err := replace(dir, changes...)
					mend()
					if broken == "" {
						if err != nil {
							t.Fatal(err)
						}
						if diff := cmp.Diff(k.new, contents(t, dir)); diff != "" {
							t.Fatalf("unbroken (-want +got):\n%s", diff)
						}
						break
					}
					names := slices.Collect(maps.Keys(k.new))
					before := seen(t, dir, names...)
					f, e := Lock(dir)
					if e != nil {
						t.Fatalf("%s: the next writer: %v", broken, e)
					}
					f.Release()
					after := contents(t, dir)
					isOld, isNew := cmp.Equal(k.old, after), cmp.Equal(k.new, after)
					if !isOld && !isNew {
						t.Errorf("%s: neither old nor new: %q", broken, after)
					}
					if !cmp.Equal(before, after) {
						t.Errorf("%s: readers saw %q, then there was %q", broken, before, after)
					}
					if err == nil && !isNew {
						t.Errorf("%s: no error, and the files are old", broken)
					}
					if err != nil && !fault.kill && fault.always == "" && !isOld {
						t.Errorf("%s: %v, and the files are new", broken, err)
					}
				}
			})
		}
	}
}

// What another program saves while a change is on its way is not lost, and the change is taken back.
func TestReplaceWhileAnotherProgramSaves(t *testing.T) {
	for _, first := range []string{"sheet", "draw"} {
		for at := 1; at < 60; at++ {
			dir := t.TempDir()
			fill(t, dir, map[string]string{"sheet": "old sheet", "draw": "old draw"})
			calls := 0
			mend := disk.Break(func(op disk.Op, path string) error {
				if calls++; calls == at {
					temporary := filepath.Join(dir, "saving")
					if err := errors.Join(os.WriteFile(temporary, []byte("saved"), 0o666), os.Rename(temporary, filepath.Join(dir, first))); err != nil {
						t.Error(err)
					}
				}
				return nil
			})
			err := replace(dir, Change{Path: filepath.Join(dir, "draw"), Old: []byte("old draw"), Data: []byte("new draw")},
				Change{Path: filepath.Join(dir, "sheet"), Old: []byte("old sheet"), Data: []byte("new sheet")})
			mend()
			if calls < at {
				break
			}
			got := contents(t, dir)
			if err != nil {
				if got[first] != "saved" || strings.HasPrefix(got["sheet"], "new") || strings.HasPrefix(got["draw"], "new") {
					t.Errorf("%s saved before call %d: %v, and there is %q", first, at, err, got)
				}
			} else if got[first] != "saved" { // saved after the change
				t.Errorf("%s saved before call %d is lost: %q", first, at, got)
			}
		}
	}
}

func TestReplaceRefuses(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	fill(t, dir, map[string]string{"old": "old", "locked": "locked"})
	if err := os.Chmod(in("locked"), 0o444); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(in("folder"), 0o777); err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name   string
		change Change
		want   string
	}{
		{"another content", Change{Path: in("old"), Old: []byte("other")}, "another program saved the file in between"},
		{"one that is gone", Change{Path: in("gone"), Old: []byte("other")}, "another program saved the file in between"},
		{"one that should not be", Change{Path: in("old"), Absent: true}, "there is one now, made by another program"},
		{"read-only", Change{Path: in("locked")}, "the file is read-only and was left as it is; allow writing to it first"},
		{"a folder", Change{Path: in("folder")}, "is a folder: it is no plain file"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			was := contents(t, dir)
			err := replace(dir, Change{Path: in("new"), Absent: true}, tt.change)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("error %v, want %q in it", err, tt.want)
			}
			if diff := cmp.Diff(was, contents(t, dir)); diff != "" {
				t.Errorf("files changed (-want +got):\n%s", diff)
			}
		})
	}
}

// A change that was edited cannot reach out of the folder.
func TestIntentStaysInTheFolder(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "campaign")
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	fill(t, top, map[string]string{"secret": "secret", ".fairrun.secret.1-0.tmp": "evil"})
	for _, text := range []string{
		`{"schema":"fairrun.change/2","files":[{"path":"../secret","temporary":"../.fairrun.secret.1-0.tmp","was":"` + hash([]byte("secret")) + `","is":"` + hash([]byte("evil")) + `"}]}`,
		`{"schema":"fairrun.change/2","adds":[{"path":"../secret","at":0,"data":"eA=="}]}`,
		`{"schema":"fairrun.change/2","files":[{"path":"x","temporary":"y","was":"","is":""}]}`,
		`{"schema":"fairrun.change/2","adds":[{"path":"x","at":-1}]}`,
		`{"schema":"fairrun.change/9"}`,
		`{`,
	} {
		fill(t, dir, map[string]string{IntentFile: text})
		if _, err := Lock(dir); err == nil {
			t.Errorf("%s was accepted", text)
		}
		if c := Read(dir, 1<<20, "plan")[0]; c.Err == nil || errors.Is(c.Err, os.ErrNotExist) {
			t.Errorf("%s: readers had error %v", text, c.Err)
		}
	}
	if got := contents(t, top)["secret"]; got != "secret" {
		t.Errorf("a file outside holds %q", got)
	}
}

// What killed writers left is removed; files of others stay.
func TestLockClearsStrays(t *testing.T) {
	dir := t.TempDir()
	fill(t, dir, map[string]string{".fairrun.plan.12-0.tmp": "x", ".plan.12-0.tmp": "theirs", "plan": "p"})
	f, err := Lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	f.Release()
	if diff := cmp.Diff(map[string]string{".plan.12-0.tmp": "theirs", "plan": "p"}, contents(t, dir)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Where there are no locks writers take turns all the same, and are warned.
func TestLockWithoutLocks(t *testing.T) {
	dir := t.TempDir()
	fill(t, dir, map[string]string{"n": ""})
	defer disk.Break(func(op disk.Op, path string) error {
		if op == disk.OpLock {
			return syscall.ENOSYS
		}
		return nil
	})()
	done := make(chan error)
	const writers = 10
	for range writers {
		go func() {
			f, err := Lock(dir)
			if err == nil {
				old := Read(dir, 1<<20, "n")[0].Data
				err = f.Replace(Change{Path: filepath.Join(dir, "n"), Old: old, Data: append(old, 'x')})
				if len(f.Warnings) != 1 || !strings.Contains(f.Warnings[0], "knows no locks") {
					err = errors.Join(err, fmt.Errorf("warnings %q", f.Warnings))
				}
				f.Release()
			}
			done <- err
		}()
	}
	for range writers {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	if diff := cmp.Diff(map[string]string{"n": strings.Repeat("x", writers)}, contents(t, dir)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
