//go:build unix

package disk

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

func syncFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}

// isUnsupported says of an error that the file system cannot do what was asked at all.
func isUnsupported(err error) bool {
	return errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOLCK)
}

// sameOwner gives a new file the owner and group of the one it replaces, where they differ and the
// account may.
func sameOwner(f *os.File, path string, like fs.FileInfo) error {
	now, err := f.Stat()
	if err != nil {
		return err
	}
	is, ok := now.Sys().(*syscall.Stat_t)
	was, known := like.Sys().(*syscall.Stat_t)
	if !ok || !known || is.Uid == was.Uid && is.Gid == was.Gid {
		return nil
	}
	if err := ask(OpOwner, path); err != nil {
		return err
	}
	err = f.Chown(int(was.Uid), int(was.Gid))
	if errors.Is(err, fs.ErrPermission) {
		err = f.Chown(-1, int(was.Gid))
	}
	if errors.Is(err, fs.ErrPermission) {
		return nil // only the superuser may give files away
	}
	return err
}

// Rename puts a file in the place of another, at once.
func Rename(from, to string) error {
	if err := ask(OpRename, to); err != nil {
		return err
	}
	return os.Rename(from, to)
}
