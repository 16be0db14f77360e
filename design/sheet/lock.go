package sheet

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/gofrs/flock"
)

// lockFile excludes other writers of this program from a folder while one is at
// work. It stands there only so long. A process that dies leaves the file, but not
// the lock, behind.
const lockFile = ".fairrun.lock"

const (
	lockPatience = 10 * time.Second
	lockRetry    = 5 * time.Millisecond
)

// lock takes the folder's lock; release gives it back.
//
// The holder removes the file before it unlocks. A process that was waiting then
// holds a lock on a file that is gone, while a third may make and lock a new one; so
// a lock counts only if the folder still has the very file that was locked. Windows
// does not remove a file that is open: there it goes after it is unlocked, unless
// somebody else has opened it.
func lock(dir string) (release func(), err error) {
	path := filepath.Join(dir, lockFile)
	ctx, cancel := context.WithTimeout(context.Background(), lockPatience)
	defer cancel()
	for {
		l := flock.New(path)
		ok, err := l.TryLockContext(ctx, lockRetry)
		if errors.Is(err, context.DeadlineExceeded) {
			return nil, fmt.Errorf("%s: another fairrun has been writing in this folder for %v; try again when it is done", path, lockPatience)
		}
		if err != nil || !ok {
			return nil, fmt.Errorf("cannot lock the folder: %w", err)
		}
		if isCurrent(l, path) {
			return func() {
				gone := os.Remove(path) == nil
				_ = l.Close()
				if !gone && runtime.GOOS == "windows" {
					_ = os.Remove(path)
				}
			}, nil
		}
		_ = l.Close()
	}
}

// isCurrent reports whether path still leads to the file that l has locked.
func isCurrent(l *flock.Flock, path string) bool {
	locked, err := l.Stat()
	if err != nil {
		return false
	}
	there, err := os.Stat(path)
	return err == nil && os.SameFile(locked, there)
}
