// Package store changes files so that nothing is lost: several files as one change, whatever kills the
// program and whenever.
//
// What goes in are paths and bytes. A writer takes the lock of a folder with [Lock] and hands all files
// that belong together to [Folder.Replace]; readers use [Read], which never writes. Read store.go first, then
// change.go, which takes a change through its steps, and recover.go, which finishes one that was cut off.
//
// # What is promised
//
// When Replace returns nil all files hold their new bytes, on the disk. When it returns an error, or the
// program is killed or the power goes at any point, then all of them hold the old ones or all the new
// ones, once the next writer has the lock; [Read] sees them so even before that.
//
//   - New bytes are written beside the file and are on the disk before they take its place.
//   - A change of more than one file is stated in [IntentFile] first, from which it is finished or taken back.
//   - A file that another program saved since it was read is left alone, also if that happens at the
//     last moment (where the system can exchange two files: Linux and macOS).
//   - Mode and owner stay, new files have the mode that the account's umask gives, links are followed.
//     Files that are read-only or no plain files are refused.
//
// The lock is a file that stays in the folder; a program that dies gives it back. Where the file system
// knows no locks writers take turns by a file that only one of them can make, and are warned.
package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"fairrun/design/disk"
)

// Files that this package makes in a folder.
const (
	LockFile   = ".fairrun.lock"   // stays
	HeldFile   = ".fairrun.held"   // in its place where there are no locks, while someone writes
	IntentFile = ".fairrun.change" // while a change of several files is going on
)

// Limit bounds a file that is read here.
const Limit = 64 << 20

// How long a writer waits for another one, and for how long nobody can have been writing.
const (
	patience  = 10 * time.Second
	retry     = 5 * time.Millisecond
	unlocked  = 2 * time.Second // for a lock of another account that may not even be read
	abandoned = 10 * time.Minute
)

// Folder is a folder that this process alone writes in.
type Folder struct {
	Warnings []string // what a person should know, in words

	dir  string // links resolved
	name string // as it was given, for messages
	lock *disk.Lock
	held string // the file that stands for a lock; "" where there are locks
}

// Lock takes the lock of a folder, waiting for other writers, and finishes or takes back a change that
// was cut off there.
func Lock(dir string) (*Folder, error) {
	f, err := open(dir)
	if err != nil {
		return nil, fmt.Errorf("cannot lock the folder: %w", err)
	}
	if err := f.take(); err != nil {
		return nil, err
	}
	if err := f.recover(); err != nil {
		f.Release()
		return nil, err
	}
	f.clear()
	return f, nil
}

// open finds out where a folder is.
func open(dir string) (*Folder, error) {
	f := &Folder{name: dir}
	if dir == "" || dir == "." {
		dir, f.name = ".", "this folder"
	}
	var err error
	f.dir, err = filepath.EvalSymlinks(dir)
	return f, err
}

// Release gives the lock back.
func (f *Folder) Release() {
	if f.lock != nil {
		f.lock.Release()
	}
	if f.held != "" {
		_ = disk.Remove(f.held)
	}
}

// take takes the lock.
func (f *Folder) take() error {
	path := filepath.Join(f.dir, LockFile)
	for begin := time.Now(); ; time.Sleep(retry) {
		l, held, err := disk.TryLock(path)
		waited := time.Since(begin)
		switch {
		case held:
			f.lock = l
			return nil
		case errors.Is(err, disk.ErrNoLocks):
			return f.takeTurns()
		case errors.Is(err, fs.ErrPermission) && exists(path):
			// Left by another account and an older version, which removes it when it is done.
			if waited < unlocked {
				continue
			}
			if disk.Remove(path) != nil {
				return fmt.Errorf("%s belongs to another account, and you may neither read nor remove it: ask for it to be removed", path)
			}
			f.Warnings = append(f.Warnings, path+" was left by another account and could not be read; it was made again")
		case err != nil:
			return fmt.Errorf("cannot lock the folder: %w", err)
		case waited > patience:
			return fmt.Errorf("%s: another fairrun has been writing in this folder for %v; try again when it is done", path, patience)
		}
	}
}

// takeTurns makes the file that stands for a lock.
func (f *Folder) takeTurns() error {
	path := filepath.Join(f.dir, HeldFile)
	for begin := time.Now(); ; time.Sleep(retry) {
		err := disk.Create(path, []byte("a fairrun is writing in this folder\n"), nil)
		if err == nil {
			f.held = path
			f.Warnings = append(f.Warnings, fmt.Sprintf("the file system of %s knows no locks: writers take turns by the file %s; do not write from two computers at once", f.name, HeldFile))
			return nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("cannot lock the folder: %w", err)
		}
		if info, e := os.Stat(path); e == nil && time.Since(info.ModTime()) > abandoned && disk.Remove(path) == nil {
			f.Warnings = append(f.Warnings, path+" was left behind by a fairrun that did not end well, and was removed")
			continue
		}
		if time.Since(begin) > patience {
			return fmt.Errorf("%s: another fairrun has been writing in this folder for %v; try again when it is done, and if there is none, remove that file", path, patience)
		}
	}
}

// stray is the name of a file that holds new bytes before they take their place.
var stray = regexp.MustCompile(`^\.fairrun\..+\.\d+-\d+\.tmp$`)

// clear removes what killed writers left: there is no other writer now.
func (f *Folder) clear() {
	entries, err := os.ReadDir(f.dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if stray.MatchString(e.Name()) && e.Type().IsRegular() {
			_ = disk.Remove(filepath.Join(f.dir, e.Name()))
		}
	}
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}
