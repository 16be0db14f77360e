package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"

	"fairrun/design/disk"
)

// Change is what a file is to hold.
type Change struct {
	Path string
	Data []byte

	Old    []byte // what it held when it was read; it is left alone if that is not so any more
	Absent bool   // there was no such file; it is left alone if there is one now
	Append bool   // Data is added at the end of the file, whatever it holds

	// With neither Old nor Absent the file is replaced whatever it holds.
}

// ErrSaved is wrapped in the error for a file that another program saved since it was read.
var ErrSaved = errors.New("another program saved the file in between; it was left as it is, try again")

// intent is a change on its way, as it stands in IntentFile.
type intent struct {
	Schema string `json:"schema"`
	Files  []step `json:"files,omitempty"`
	Adds   []add  `json:"adds,omitempty"`
}

const intentSchema = "fairrun.change/2"

// step is one file of an intent. Hashes are SHA-256 in hexadecimal, "" where there is no file.
type step struct {
	Path      string `json:"path"`                // seen from the folder; links are resolved
	Temporary string `json:"temporary,omitempty"` // beside it, with the new bytes; "" where the file is to go
	Was       string `json:"was"`
	Is        string `json:"is"`
	Old       []byte `json:"old,omitempty"` // what it held, to go back to

	given string // the path that the caller gave
}

// add is what is added to a file that is only ever added to.
type add struct {
	Path string `json:"path"`
	At   int64  `json:"at"` // its length before
	Data []byte `json:"data,omitempty"`
	Cut  bool   `json:"cut,omitempty"` // take Data away instead
}

func hash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Replace makes the changes, all of them or none.
func (f *Folder) Replace(changes ...Change) error {
	release, err := f.lockTargets(changes)
	if err != nil {
		return err
	}
	defer release()
	in, err := f.stage(changes)
	if err != nil {
		return err
	}
	if len(in.Files) == 1 && in.Adds == nil {
		return f.replaceOne(in)
	}
	if err := f.state(in); err != nil {
		f.discard(in)
		return fmt.Errorf("nothing was changed: %w", err)
	}
	done, err := f.apply(in)
	if err != nil {
		return f.takeBack(in, done, err)
	}
	return f.finish(in)
}

// Put makes one change without a lock, for a file that no two writers build on.
func Put(c Change) error {
	target, err := resolve(c.Path)
	if err != nil {
		return err
	}
	f, err := open(filepath.Dir(target))
	if err != nil {
		return err
	}
	in, err := f.stage([]Change{c})
	if err != nil {
		return err
	}
	return f.replaceOne(in)
}

// lockTargets locks the other folders that links lead to.
func (f *Folder) lockTargets(changes []Change) (release func(), err error) {
	var others []*Folder
	release = func() {
		for _, o := range others {
			o.Release()
		}
	}
	own, err := os.Stat(f.dir)
	if err != nil {
		return release, err
	}
	locked := []fs.FileInfo{own}
	for _, c := range changes {
		target, err := resolve(c.Path)
		if err != nil {
			release()
			return nil, err
		}
		info, err := os.Stat(filepath.Dir(target))
		if err != nil {
			release()
			return nil, err
		}
		if slices.ContainsFunc(locked, func(l fs.FileInfo) bool { return os.SameFile(l, info) }) {
			continue
		}
		o, err := Lock(filepath.Dir(target))
		if err != nil {
			release()
			return nil, err
		}
		locked, others = append(locked, info), append(others, o)
	}
	return release, nil
}

// Target is the file that a path leads to once links are followed: there need be none yet.
func Target(path string) (string, error) { return resolve(path) }

// resolve follows links to the file that is to be written.
func resolve(path string) (string, error) {
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		if to, e := os.Readlink(path); e == nil {
			return "", fmt.Errorf("%s is a link to %s, where there is no file: remove the link, or put the file there", path, to)
		}
		dir, err := filepath.EvalSymlinks(filepath.Dir(path))
		return filepath.Join(dir, filepath.Base(path)), err
	}
	return target, err
}

// stage writes all new bytes beside the files they are for, and compares what these hold with what they
// held when they were read.
func (f *Folder) stage(changes []Change) (in *intent, err error) {
	in = &intent{Schema: intentSchema}
	defer func() {
		if err != nil {
			f.discard(in)
		}
	}()
	for _, c := range changes {
		if err := f.stageOne(in, c); err != nil {
			return in, err
		}
	}
	for i, c := range replaced(changes) {
		s := &in.Files[i]
		now, err := disk.Read(f.at(s.Path), Limit)
		missing := errors.Is(err, fs.ErrNotExist)
		switch {
		case err != nil && !missing:
			return in, err
		case c.Absent && !missing:
			return in, fmt.Errorf("%s: there is one now, made by another program; it was left as it is", c.Path)
		case c.Old != nil && (missing || !bytes.Equal(now, c.Old)):
			return in, fmt.Errorf("%s: %w", c.Path, ErrSaved)
		}
		if !missing {
			s.Was, s.Old = hash(now), now
		}
	}
	return in, nil
}

// replaced are the changes that put a whole file in the place of another.
func replaced(changes []Change) (out []Change) {
	for _, c := range changes {
		if !c.Append {
			out = append(out, c)
		}
	}
	return out
}

func (f *Folder) stageOne(in *intent, c Change) error {
	target, err := resolve(c.Path)
	if err == nil {
		err = disk.Plain(target)
	}
	if err != nil {
		return err
	}
	info, err := os.Stat(target)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if info != nil && info.Mode().Perm()&0o200 == 0 {
		return fmt.Errorf("%s: the file is read-only and was left as it is; allow writing to it first", c.Path)
	}
	if c.Append {
		a := add{Path: f.from(target), Data: c.Data}
		if info != nil {
			a.At = info.Size()
		}
		in.Adds = append(in.Adds, a)
		return nil
	}
	temporary, err := writeBeside(target, c.Data, info)
	if err != nil {
		return fmt.Errorf("%s was left as it is: %w", c.Path, err)
	}
	in.Files = append(in.Files, step{Path: f.from(target), Temporary: f.from(temporary), Is: hash(c.Data), given: c.Path})
	return nil
}

// written counts the files written beside others, so that each has a name of its own.
var written atomic.Int64

// writeBeside writes data into a new file beside target.
func writeBeside(target string, data []byte, like fs.FileInfo) (path string, err error) {
	dir, name := filepath.Split(target)
	for {
		path = filepath.Join(dir, fmt.Sprintf(".fairrun.%s.%d-%d.tmp", name, os.Getpid(), written.Add(1)))
		if err = disk.Create(path, data, like); !errors.Is(err, fs.ErrExist) {
			return path, err
		}
	}
}

// from is a path as an intent holds it: seen from the folder where that goes.
func (f *Folder) from(path string) string {
	if rel, err := filepath.Rel(f.dir, path); err == nil {
		return rel
	}
	return path
}

// at is the path of a file in an intent.
func (f *Folder) at(path string) string {
	if filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(f.dir, path)
}

// discard removes what was written beside files.
func (f *Folder) discard(in *intent) {
	for _, s := range in.Files {
		if s.Temporary != "" {
			_ = disk.Remove(f.at(s.Temporary))
		}
	}
}

// replaceOne is a change of one file, which needs no intent: its one step is whole or not made.
func (f *Folder) replaceOne(in *intent) error {
	s := in.Files[0]
	err := f.put(s)
	if err == nil {
		if err = disk.SyncFolder(filepath.Dir(f.at(s.Path))); err != nil {
			err = f.putBack(s, err)
		}
	}
	f.discard(in)
	return err
}

// putBack undoes a step that the disk did not confirm.
func (f *Folder) putBack(s step, cause error) error {
	var err error
	if s.Was == "" {
		err = disk.Remove(f.at(s.Path))
	} else {
		err = f.checkedExchange(step{Path: s.Path, Temporary: s.Temporary, Was: s.Is, Is: s.Was})
	}
	if err != nil {
		return fmt.Errorf("%s was written, but %w", s.given, cause)
	}
	return fmt.Errorf("%s was left as it is: %w", s.given, cause)
}

// put puts the new bytes of a step in the place of the file, which holds what it was.
func (f *Folder) put(s step) error {
	target, temporary := f.at(s.Path), f.at(s.Temporary)
	var err error
	switch {
	case s.Temporary == "":
		return disk.Remove(target)
	case s.Was == "":
		err = disk.Link(temporary, target)
		if errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("%s: there is one now, made by another program; it was left as it is", target)
		}
		if err != nil && !exists(target) { // not every file system has second names
			return leftAlone(target, disk.Rename(temporary, target))
		}
	default:
		err = f.checkedExchange(s)
		if errors.Is(err, errors.ErrUnsupported) {
			return leftAlone(target, disk.Rename(temporary, target))
		}
	}
	return leftAlone(target, err)
}

// checkedExchange exchanges the new file with the old one, looks at what came out, and puts it back if
// another program saved it at the last moment.
func (f *Folder) checkedExchange(s step) error {
	target, temporary := f.at(s.Path), f.at(s.Temporary)
	if err := disk.Exchange(temporary, target); err != nil {
		return err
	}
	out, err := disk.Read(temporary, Limit)
	if err == nil && hash(out) == s.Was {
		return nil
	}
	if err == nil {
		err = ErrSaved
	}
	return errors.Join(err, disk.Exchange(temporary, target))
}

func leftAlone(target string, err error) error {
	if err == nil || errors.Is(err, ErrSaved) {
		if err != nil {
			err = fmt.Errorf("%s: %w", target, err)
		}
		return err
	}
	return fmt.Errorf("%s was left as it is: %w; if another program has the file open, close it there", target, err)
}

// state puts the intent on the disk, in the place of another one if there is.
func (f *Folder) state(in *intent) error {
	data, err := json.MarshalIndent(in, "", " ")
	if err != nil {
		return err
	}
	path := filepath.Join(f.dir, IntentFile)
	temporary, err := writeBeside(path, append(data, '\n'), nil)
	if err == nil {
		err = disk.SyncFolder(f.dir) // the names of the new files, before the intent speaks of them
	}
	if err == nil {
		err = disk.Rename(temporary, path)
	}
	if err != nil {
		_ = disk.Remove(temporary)
		return err
	}
	if err = disk.SyncFolder(f.dir); err != nil {
		if e := disk.Remove(path); e != nil {
			return fmt.Errorf("%w, and the next command may finish it: %w", err, e)
		}
	}
	return err
}

// apply makes the steps of an intent that are not made yet, and says which are made.
func (f *Folder) apply(in *intent) (done []step, err error) {
	for _, a := range in.Adds {
		if err := f.append(a); err != nil {
			return nil, err
		}
	}
	for _, s := range in.Files {
		made, err := f.made(s)
		if err == nil && !made {
			err = f.put(s)
		}
		if err != nil {
			return done, err
		}
		done = append(done, s)
	}
	folders := map[string]bool{}
	for _, s := range in.Files {
		folders[filepath.Dir(f.at(s.Path))] = true
	}
	for _, a := range in.Adds {
		folders[filepath.Dir(f.at(a.Path))] = true
	}
	for dir := range folders {
		if err := disk.SyncFolder(dir); err != nil {
			return done, err
		}
	}
	return done, nil
}

// append adds what an intent adds to a file, unless it stands there already.
func (f *Folder) append(a add) error {
	path := f.at(a.Path)
	now, err := disk.Read(path, Limit)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	switch {
	case a.Cut:
		if int64(len(now)) < a.At || !bytes.HasPrefix(a.Data, now[a.At:]) || err != nil {
			return nil
		}
		if a.At == 0 {
			return disk.Remove(path)
		}
		return disk.WriteAt(path, a.At, nil)
	case bytes.Contains(now, a.Data):
		return nil
	case int64(len(now)) >= a.At && bytes.HasPrefix(a.Data, now[a.At:]):
		return disk.WriteAt(path, a.At, a.Data)
	}
	// Another program changed the file: it is not cut.
	if n := len(now); n > 0 && now[n-1] != '\n' {
		a.Data = append([]byte{'\n'}, a.Data...)
	}
	return disk.WriteAt(path, int64(len(now)), a.Data)
}

// finish ends a change whose steps are all made.
func (f *Folder) finish(in *intent) error {
	// The intent that stays behind is found to be done by the next writer.
	_ = disk.Remove(filepath.Join(f.dir, IntentFile))
	f.discard(in)
	return nil
}
