// Package disk is what this program asks of the operating system to change files, call by call: all
// of its writing goes through here, and nothing else in it writes.
//
// A caller hands in paths and bytes and gets an error that names the path. What makes several of
// these calls one change is package store. A test may let any call fail, or stop all of them from
// one call on as a kill does: see [Break]. Read disk.go first.
package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"runtime"
	"sync/atomic"
)

// Op is one kind of call.
type Op string

// The calls that [Break] sees.
const (
	OpOpen       Op = "open"
	OpWrite      Op = "write"
	OpMode       Op = "chmod"
	OpOwner      Op = "chown"
	OpSync       Op = "fsync"
	OpClose      Op = "close"
	OpRead       Op = "read"
	OpRename     Op = "rename"
	OpExchange   Op = "exchange"
	OpLink       Op = "link"
	OpRemove     Op = "remove"
	OpTruncate   Op = "truncate"
	OpFolder     Op = "mkdir"
	OpSyncFolder Op = "fsync of the folder"
	OpLock       Op = "lock"
)

// broken is asked before each call; nil outside tests.
var broken atomic.Pointer[func(Op, string) error]

// Break lets f decide about every call until mend is called: an error keeps the call from happening
// and is what it returns. A write that fails so has written half of its bytes. It is for tests.
func Break(f func(op Op, path string) error) (mend func()) {
	broken.Store(&f)
	return func() { broken.Store(nil) }
}

func ask(op Op, path string) error {
	if f := broken.Load(); f != nil {
		if err := (*f)(op, path); err != nil {
			return &fs.PathError{Op: string(op), Path: path, Err: err}
		}
	}
	return nil
}

// ErrSpecial is wrapped in the error for a path that leads to no plain file: a folder, a pipe, a device.
var ErrSpecial = errors.New("it is no plain file")

// SizeError is the error of Read for a file above the limit.
type SizeError struct {
	Path string
	Size int64
}

func (e *SizeError) Error() string { return e.Path + ": the file is too large" }

// Read returns what a plain file holds, up to limit bytes.
func Read(path string, limit int64) ([]byte, error) {
	if err := ask(OpRead, path); err != nil {
		return nil, err
	}
	info, err := os.Stat(path) // before opening: a pipe would wait for its writer
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, special(path, info)
	}
	if info.Size() > limit {
		return nil, &SizeError{path, info.Size()}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, err
	}
	if int64(len(data)) > limit {
		return nil, &SizeError{path, int64(len(data))}
	}
	return data, nil
}

func special(path string, info fs.FileInfo) error {
	what := "a special file"
	switch m := info.Mode(); {
	case m.IsDir():
		what = "a folder"
	case m&fs.ModeNamedPipe != 0:
		what = "a pipe"
	case m&fs.ModeDevice != 0:
		what = "a device"
	}
	return fmt.Errorf("%s is %s: %w", path, what, ErrSpecial)
}

// Plain returns an error if there is something at path that is no plain file; nothing there is no
// error. A link is followed.
func Plain(path string) error {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil && !info.Mode().IsRegular() {
		err = special(path, info)
	}
	return err
}

// Create makes a new file that holds data and is on the disk when Create returns. like is the file
// it is to replace, whose mode and owner it takes on; nil gives it those of any new file. A file that
// could not be finished is removed. If there is one already the error is fs.ErrExist.
func Create(path string, data []byte, like fs.FileInfo) (err error) {
	if err := ask(OpOpen, path); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	err = fill(f, path, data, like)
	if e := ask(OpClose, path); err == nil {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		_ = Remove(path)
	}
	return err
}

func fill(f *os.File, path string, data []byte, like fs.FileInfo) error {
	if err := write(f, path, data); err != nil {
		return err
	}
	if like != nil && runtime.GOOS != "windows" { // where mode and owner come from the folder
		if err := sameOwner(f, path, like); err != nil {
			return err
		}
		if err := ask(OpMode, path); err != nil {
			return err
		}
		if err := f.Chmod(like.Mode().Perm()); err != nil {
			return err
		}
	}
	if err := ask(OpSync, path); err != nil {
		return err
	}
	return f.Sync()
}

func write(f *os.File, path string, data []byte) error {
	if err := ask(OpWrite, path); err != nil {
		_, _ = f.Write(data[:len(data)/2])
		return err
	}
	_, err := f.Write(data)
	return err
}

// WriteAt makes a file hold data from an offset on, and nothing behind it, on the disk. The file is made
// if there is none.
func WriteAt(path string, offset int64, data []byte) (err error) {
	if err := ask(OpOpen, path); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE, 0o666)
	if err != nil {
		return err
	}
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	if err := ask(OpTruncate, path); err != nil {
		return err
	}
	if err := f.Truncate(offset); err != nil {
		return err
	}
	if _, err := f.Seek(offset, io.SeekStart); err != nil {
		return err
	}
	if err := write(f, path, data); err != nil {
		return err
	}
	if err := ask(OpSync, path); err != nil {
		return err
	}
	return f.Sync()
}

// Remove removes a file.
func Remove(path string) error {
	if err := ask(OpRemove, path); err != nil {
		return err
	}
	return os.Remove(path)
}

// Link gives a file a second name, which must be free. Not every file system can.
func Link(old, name string) error {
	if err := ask(OpLink, name); err != nil {
		return err
	}
	return os.Link(old, name)
}

// MakeFolder makes a folder, and those above it where all is given.
func MakeFolder(path string, all bool) error {
	if err := ask(OpFolder, path); err != nil {
		return err
	}
	if all {
		return os.MkdirAll(path, 0o777)
	}
	return os.Mkdir(path, 0o777)
}

// SyncFolder sees to it that the names in a folder are on the disk. A file system that cannot do that
// is no error.
func SyncFolder(path string) error {
	err := ask(OpSyncFolder, path)
	if err == nil {
		err = syncFolder(path)
	}
	if err == nil || isUnsupported(err) {
		return nil
	}
	return fmt.Errorf("the disk did not confirm what is in the folder %s: %w", path, err)
}
