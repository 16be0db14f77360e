package disk

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
	"time"

	"github.com/natefinch/atomic"
)

// syncFolder does nothing: Rename has written through.
func syncFolder(string) error { return nil }

// isUnsupported says of an error that the file system cannot do what was asked at all.
func isUnsupported(err error) bool { return errors.Is(err, errors.ErrUnsupported) }

// sameOwner does nothing: mode and owner come from the folder.
func sameOwner(*os.File, string, fs.FileInfo) error { return nil }

// patience is how long Rename tries while another program has a file open: one that reads it is done soon.
const patience = 300 * time.Millisecond

// sharingViolation and accessDenied are the errors of a file that another program has open.
const (
	sharingViolation = syscall.Errno(32)
	accessDenied     = syscall.Errno(5)
)

// Rename puts a file in the place of another, at once and on the disk.
func Rename(from, to string) error {
	for begin := time.Now(); ; time.Sleep(10 * time.Millisecond) {
		if err := ask(OpRename, to); err != nil {
			return err
		}
		err := atomic.ReplaceFile(from, to)
		if !errors.Is(err, sharingViolation) && !errors.Is(err, accessDenied) || time.Since(begin) > patience {
			return err
		}
	}
}
