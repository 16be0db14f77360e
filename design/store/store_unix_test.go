//go:build unix

package store

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A pipe in the place of any file is refused; nobody waits for it.
func TestPipesAreRefused(t *testing.T) {
	for _, name := range []string{LockFile, IntentFile, "plan"} {
		dir := t.TempDir()
		if err := syscall.Mkfifo(filepath.Join(dir, name), 0o666); err != nil {
			t.Fatal(err)
		}
		done := make(chan error, 1)
		go func() { done <- replace(dir, Change{Path: filepath.Join(dir, "plan"), Data: []byte("x")}) }()
		select {
		case err := <-done:
			if err == nil || !strings.Contains(err.Error(), "is a pipe") {
				t.Errorf("%s: error %v, want one of a pipe", name, err)
			}
		case <-time.After(5 * time.Second):
			t.Errorf("%s: still waiting", name)
		}
	}
}

// Modes stay, new files have the one that the umask gives, and links are followed, also to other folders.
func TestModesAndLinks(t *testing.T) {
	defer syscall.Umask(syscall.Umask(0o027))
	dir, other := t.TempDir(), t.TempDir()
	at := filepath.Join(dir, "link")
	target := filepath.Join(other, "target")
	fill(t, other, map[string]string{"target": "old"})
	fill(t, dir, map[string]string{"kept": "old"})
	for path, mode := range map[string]os.FileMode{target: 0o604, filepath.Join(dir, "kept"): 0o666} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink(target, at); err != nil {
		t.Fatal(err)
	}
	err := replace(dir, Change{Path: at, Data: []byte("new")}, Change{Path: filepath.Join(dir, "kept"), Data: []byte("new")},
		Change{Path: filepath.Join(dir, "made"), Data: []byte("new")}, Change{Path: filepath.Join(dir, "added"), Data: []byte("new"), Append: true})
	if err != nil {
		t.Fatal(err)
	}
	if to, err := os.Readlink(at); err != nil || to != target {
		t.Errorf("the link is now %q, %v", to, err)
	}
	for path, want := range map[string]os.FileMode{target: 0o604, filepath.Join(dir, "kept"): 0o666, filepath.Join(dir, "made"): 0o640,
		filepath.Join(dir, "added"): 0o640, filepath.Join(dir, LockFile): 0o640} {
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != want {
			t.Errorf("%s has mode %v, want %v", path, info.Mode().Perm(), want)
		}
	}
	if got := contents(t, other); got["target"] != "new" || len(got) != 1 {
		t.Errorf("where the link leads there is %q", got)
	}
	if err := os.Remove(target); err != nil {
		t.Fatal(err)
	}
	if err := replace(dir, Change{Path: at, Data: []byte("x")}); err == nil || !strings.Contains(err.Error(), "where there is no file") {
		t.Errorf("a link to nowhere: error %v", err)
	}
}

// The lock may be taken by an account that may only read it, and by one that may not even do that if it may
// write in the folder. The superuser may do anything, so the second half needs an account that may not.
func TestLockOfAnotherAccount(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, LockFile)
	for _, mode := range []os.FileMode{0o444, 0o000} {
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		f, err := Lock(dir)
		if err != nil {
			t.Fatalf("a lock of mode %v: %v", mode, err)
		}
		f.Release()
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
}
