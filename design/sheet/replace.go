package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"github.com/natefinch/atomic"
)

// staged is a file written beside the one it is to replace, and on the disk.
type staged struct {
	temporary, target string
}

// stage writes data beside the file at path, which it will replace; a link is
// followed. It refuses a file that may not be written, even where the folder may.
//
// atomic.WriteFile does this in one step, but gives new files permissions that keep
// others out, and two files could not be written before either is replaced.
func stage(path string, data []byte) (*staged, error) {
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		target, err = path, nil
	}
	if err != nil {
		return nil, err
	}
	info, err := os.Stat(target)
	exists := err == nil
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	if exists && info.Mode().Perm()&0o200 == 0 {
		return nil, fmt.Errorf("%s: the file is read-only and was left as it is; allow writing to it first", path)
	}

	f, err := createTemporary(target)
	if err != nil {
		return nil, err
	}
	s := &staged{temporary: f.Name(), target: target}
	_, err = f.Write(data)
	if err == nil && exists {
		err = f.Chmod(info.Mode().Perm())
		if runtime.GOOS == "windows" {
			err = nil // permissions there come from the folder
		}
	}
	if err == nil {
		err = f.Sync()
	}
	err = errors.Join(err, f.Close())
	if err != nil {
		s.discard()
		return nil, fmt.Errorf("%s was left as it is: %w", path, err)
	}
	return s, nil
}

// createTemporary makes a new file beside target with the permissions that new files
// get.
func createTemporary(target string) (*os.File, error) {
	dir, name := filepath.Split(target)
	for i := 0; ; i++ {
		temporary := filepath.Join(dir, fmt.Sprintf(".%s.%d-%d.tmp", name, os.Getpid(), i))
		f, err := os.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
}

// commit puts the staged file in its place and sees to it that it stays there when
// the power goes.
func (s *staged) commit() error {
	err := atomic.ReplaceFile(s.temporary, s.target)
	if err != nil {
		s.discard()
		return fmt.Errorf("%s was left as it is: %w; if another program has the file open, close it there", s.target, err)
	}
	if runtime.GOOS == "windows" {
		return nil // ReplaceFile has written through
	}
	dir, err := os.Open(filepath.Dir(s.target))
	if err != nil {
		return nil // replaced; a folder that cannot be read cannot be synced
	}
	defer dir.Close()
	_ = dir.Sync() // not every file system can
	return nil
}

func (s *staged) discard() { _ = os.Remove(s.temporary) }

// replaceFile puts data in place of the file at path, which held old when it was read.
func replaceFile(path string, old, data []byte) error {
	s, err := stage(path, data)
	if err != nil {
		return err
	}
	now, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(now, old) {
		s.discard()
		return errors.Join(err, savedBetween(path))
	}
	return s.commit()
}

func savedBetween(path string) error {
	return fmt.Errorf("%s: another program saved the file in between; it was left as it is, try again", path)
}
