package store

import (
	"bytes"
	"errors"
	"io/fs"
	"path/filepath"
	"time"

	"fairrun/design/disk"
)

// Content is what a file holds, or why that cannot be read.
type Content struct {
	Data []byte
	Err  error
}

func (c Content) same(o Content) bool {
	return bytes.Equal(c.Data, o.Data) && (c.Err == nil) == (o.Err == nil)
}

// Read returns what files of a folder hold at one moment: never some of them before a change and some
// after it. A change that was cut off is seen as finished. Nothing is written, so that a folder may be
// read-only. A file above the limit is an error of type *disk.SizeError.
func Read(dir string, limit int64, names ...string) []Content {
	const tries = 20
	was := readOnce(dir, limit, names)
	for range tries {
		now := readOnce(dir, limit, names)
		same := true
		for i := range now {
			same = same && now[i].same(was[i])
		}
		if same {
			break
		}
		was = now
		time.Sleep(retry)
	}
	return was
}

func readOnce(dir string, limit int64, names []string) []Content {
	f, err := open(dir)
	var in *intent
	if err == nil {
		in, err = f.pending()
	}
	if err != nil && (errors.Is(err, fs.ErrPermission) || errors.Is(err, fs.ErrNotExist)) {
		in, err = nil, nil // not ours to read: the files are as they are
	}
	out := make([]Content, len(names))
	for i, name := range names {
		path := filepath.Join(dir, name)
		out[i].Data, out[i].Err = disk.Read(path, limit)
		switch {
		case err != nil:
			out[i] = Content{Err: err}
		case in != nil:
			f.see(in, path, limit, &out[i])
		}
	}
	return out
}

// see turns what a file holds into what it will once the change is finished.
func (f *Folder) see(in *intent, path string, limit int64, c *Content) {
	target, err := resolve(path)
	if err != nil {
		return
	}
	for _, s := range in.Files {
		if f.at(s.Path) != filepath.Clean(target) {
			continue
		}
		if made, err := f.made(s); err != nil || made {
			continue
		}
		if s.Temporary == "" {
			*c = Content{Err: &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}}
			continue
		}
		c.Data, c.Err = disk.Read(f.at(s.Temporary), limit)
	}
	for _, a := range in.Adds {
		if f.at(a.Path) == filepath.Clean(target) && !a.Cut && !bytes.Contains(c.Data, a.Data) && int64(len(c.Data)) >= a.At {
			c.Data, c.Err = append(c.Data[:a.At:a.At], a.Data...), nil
		}
	}
}
