package disk

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"github.com/gofrs/flock"
)

// ErrNoLocks says that the file system knows no locks.
var ErrNoLocks = errors.New("the file system knows no locks")

// Lock is a lock on a file that this process holds.
type Lock struct{ f *flock.Flock }

// TryLock takes the lock on the file at path, which is made if there is none and stays. Another
// account may lock it too: it needs to read it only. held is false while somebody else has it.
func TryLock(path string) (l *Lock, held bool, err error) {
	if err := ask(OpLock, path); err != nil {
		return nil, false, noLocks(err)
	}
	if info, err := os.Lstat(path); err == nil && !info.Mode().IsRegular() {
		return nil, false, special(path, info)
	}
	if err := makeLock(path); err != nil {
		return nil, false, err
	}
	// The permissions are those that have to be there for a second try with writing allowed, which
	// some network file systems ask for.
	f := flock.New(path, flock.SetFlag(os.O_RDONLY), flock.SetPermissions(0o400))
	held, err = f.TryLock()
	if err != nil || !held {
		_ = f.Close()
		return nil, false, noLocks(err)
	}
	if !isCurrent(f, path) {
		_ = f.Close()
		return nil, false, nil
	}
	return &Lock{f}, true, nil
}

// makeLock makes the file to lock if there is none, for all accounts that may write in its folder.
func makeLock(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return nil
	}
	f, err := os.OpenFile(path, os.O_RDONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if folder, err := os.Stat(filepath.Dir(path)); err == nil && folder.Mode()&0o022 != 0 && runtime.GOOS != "windows" {
		_ = f.Chmod(0o600 | folder.Mode()&0o066) // what the folder allows to others, they may do to the lock
	}
	return f.Close()
}

// isCurrent reports whether path still leads to the file that was locked. Versions of this program
// before the lock stayed in place removed it when they were done.
func isCurrent(f *flock.Flock, path string) bool {
	locked, err := f.Stat()
	if err != nil {
		return false
	}
	there, err := os.Stat(path)
	return err == nil && os.SameFile(locked, there)
}

func noLocks(err error) error {
	if err != nil && !errors.Is(err, fs.ErrNotExist) && isUnsupported(err) {
		return ErrNoLocks
	}
	return err
}

// Release gives the lock back. A process that dies does so too.
func (l *Lock) Release() { _ = l.f.Close() }
