package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"fairrun/design/disk"
)

// errConflict says that a file holds neither what it held before a change nor what it was to hold.
var errConflict = errors.New("another program saved it while a change was going on")

// made reports whether a step is made. It is an error if the file holds neither the old bytes nor the
// new ones.
func (f *Folder) made(s step) (bool, error) {
	now, err := f.hashOf(s.Path)
	if err != nil {
		return false, err
	}
	if s.Temporary == "" {
		if now != "" && now != s.Was {
			return false, fmt.Errorf("%s: %w", f.at(s.Path), errConflict)
		}
		return now == "", nil
	}
	beside, err := f.hashOf(s.Temporary)
	switch {
	case err != nil:
		return false, err
	case beside == "", beside == s.Was && s.Was != s.Is:
		return true, nil // it went to its place; what happened to it since is no business of the change
	case now == s.Is && beside == s.Is:
		return true, nil
	case now == s.Was && beside == s.Is:
		return false, nil
	}
	return false, fmt.Errorf("%s: %w", f.at(s.Path), errConflict)
}

// hashOf is the hash of a file of an intent, "" if there is none.
func (f *Folder) hashOf(path string) (string, error) {
	data, err := disk.Read(f.at(path), Limit)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	return hash(data), nil
}

// takeBack undoes the steps of a change that are done, since it failed by cause, and returns that.
// What it does is stated as an intent of its own, in the place of the first.
func (f *Folder) takeBack(in *intent, done []step, cause error) error {
	half := func(err error) error {
		return fmt.Errorf("%w\nthe change could not be taken back at once (%w): the next command that writes here finishes it or takes it back", cause, err)
	}
	back := &intent{Schema: intentSchema}
	for _, s := range done {
		if now, err := f.hashOf(s.Path); err != nil {
			return half(err)
		} else if now != s.Is {
			continue // another program had it since
		}
		b := step{Path: s.Path, Was: s.Is, Is: s.Was, Old: s.Old}
		if s.Was != "" {
			info, err := os.Stat(f.at(s.Path))
			if err != nil {
				return half(err)
			}
			temporary, err := writeBeside(f.at(s.Path), s.Old, info)
			if err != nil {
				f.discard(back)
				return half(err)
			}
			b.Temporary = f.from(temporary)
		}
		back.Files = append(back.Files, b)
	}
	for _, a := range in.Adds {
		if now, err := disk.Read(f.at(a.Path), Limit); err == nil && (int64(len(now)) > a.At || a.At == 0) {
			back.Adds = append(back.Adds, add{Path: a.Path, At: a.At, Data: a.Data, Cut: true})
		}
	}
	if back.Files == nil && back.Adds == nil {
		if err := disk.Remove(filepath.Join(f.dir, IntentFile)); err != nil {
			return half(err)
		}
		f.discard(in)
		return cause
	}
	if err := f.state(back); err != nil {
		f.discard(back)
		return half(err)
	}
	f.discard(in)
	if _, err := f.apply(back); err != nil {
		return half(err)
	}
	return errors.Join(cause, f.finish(back))
}

// recover finishes or takes back a change that was cut off.
func (f *Folder) recover() error {
	in, err := f.pending()
	if in == nil || err != nil {
		return err
	}
	done, err := f.apply(in)
	switch {
	case err == nil:
		return f.finish(in)
	case errors.Is(err, errConflict), errors.Is(err, ErrSaved):
		f.Warnings = append(f.Warnings, fmt.Sprintf("a change that was cut off is taken back: %v", err))
		if back := f.takeBack(in, done, errConflict); !errors.Is(back, errConflict) || exists(filepath.Join(f.dir, IntentFile)) {
			return back
		}
		return nil
	}
	return fmt.Errorf("a change that was cut off in %s cannot be finished: %w", f.name, err)
}

// pending is the change that is going on, nil if none is.
func (f *Folder) pending() (*intent, error) {
	path := filepath.Join(f.dir, IntentFile)
	data, err := disk.Read(path, Limit)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	in, err := parseIntent(path, data)
	if err == nil {
		err = f.owns(in)
	}
	return in, err
}

// owns keeps an intent that was edited from reaching for files that are not in the folder, nor where a
// link in it leads.
func (f *Folder) owns(in *intent) error {
	var paths []string
	for _, s := range in.Files {
		paths = append(paths, s.Path)
	}
	for _, a := range in.Adds {
		paths = append(paths, a.Path)
	}
	for _, path := range paths {
		if filepath.Dir(path) != "." && !f.leadsTo(f.at(path)) {
			return fmt.Errorf("%s is damaged: it speaks of %q, which is not in the folder; remove it", filepath.Join(f.dir, IntentFile), path)
		}
	}
	return nil
}

// leadsTo reports whether a link in the folder leads to a path.
func (f *Folder) leadsTo(path string) bool {
	entries, err := os.ReadDir(f.dir)
	if err != nil {
		return false
	}
	for _, e := range entries {
		if e.Type()&fs.ModeSymlink != 0 {
			if target, err := resolve(filepath.Join(f.dir, e.Name())); err == nil && target == path {
				return true
			}
		}
	}
	return false
}

func parseIntent(path string, data []byte) (*intent, error) {
	in := &intent{}
	err := json.Unmarshal(data, in)
	if err == nil && in.Schema != intentSchema {
		return nil, fmt.Errorf("%s: a newer fairrun was cut off while it wrote; run that one here once", path)
	}
	if err == nil {
		err = in.check()
	}
	if err != nil {
		return nil, fmt.Errorf("%s, which says what fairrun was writing, is damaged (%w): compare runsheet.csv and draw.json with a backup, then remove it", path, err)
	}
	return in, nil
}

// check keeps an intent that was edited from reaching for files it could not be about.
func (in *intent) check() error {
	for _, s := range in.Files {
		if s.Temporary != "" && (!stray.MatchString(filepath.Base(s.Temporary)) || filepath.Dir(s.Temporary) != filepath.Dir(s.Path)) {
			return fmt.Errorf("%q is no name of new bytes for %q", s.Temporary, s.Path)
		}
	}
	for _, a := range in.Adds {
		if a.At < 0 {
			return fmt.Errorf("%q cannot be %d bytes long", a.Path, a.At)
		}
	}
	return nil
}
