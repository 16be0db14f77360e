package log

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"fairrun/design/fault"
)

const (
	pieceBytes = 256 << 10 // read at once
	headBytes  = 64 << 10  // looked at to find out how a log is written
	lineBytes  = 1 << 20   // the longest line
)

// source is a log that is being read: its text in pieces, and the hash of its file.
type source struct {
	name  string
	file  *os.File
	sum   hash.Hash
	disk  io.Reader // the file, hashed as it is read
	text  io.Reader // unpacked
	bytes int64     // of the file on disk
}

// interruptible is a file whose reading ends with a context.
type interruptible struct {
	context.Context
	io.Reader
}

func (r interruptible) Read(p []byte) (int, error) {
	if err := r.Err(); err != nil {
		return 0, err
	}
	return r.Reader.Read(p)
}

// openSource opens a log.
func openSource(ctx context.Context, path string) (*source, error) {
	info, err := os.Stat(path) // before opening: a pipe would wait for its writer
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, wrong(path, 0, "there is no such log", "is it named right, and in the campaign's folder?")
	case err != nil:
		return nil, wrong(path, 0, "cannot be opened: "+cause(err), "is it readable by you?")
	case info.IsDir():
		return nil, wrong(path, 0, "is a folder", "name a log in it")
	case !info.Mode().IsRegular():
		return nil, wrong(path, 0, "is no file that holds a log", "name a file")
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, wrong(path, 0, "cannot be opened: "+cause(err), "is it readable by you?")
	}
	s := &source{name: path, file: f, sum: sha256.New()}
	s.bytes = info.Size()
	s.disk = io.TeeReader(interruptible{ctx, f}, s.sum)
	s.text = s.disk
	if strings.EqualFold(filepath.Ext(path), ".gz") {
		if s.text, err = gzip.NewReader(s.disk); err != nil {
			return nil, errors.Join(s.broken(err), f.Close())
		}
	}
	return s, nil
}

// hash reads what is left of the file and returns its SHA-256.
func (s *source) hash() (string, error) {
	if _, err := io.Copy(io.Discard, s.disk); err != nil {
		return "", s.broken(err)
	}
	return hex.EncodeToString(s.sum.Sum(nil)), nil
}

// broken says why the file cannot be read on.
func (s *source) broken(err error) error {
	switch {
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.Is(err, errLongLine):
		return wrong(s.name, 0, err.Error(), "no log has such lines: is it a text file with a row a line?")
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return wrong(s.name, 0, "the packed file ends before its end", "is it still being copied? Take it over again")
	case errors.Is(err, gzip.ErrHeader), errors.Is(err, gzip.ErrChecksum):
		return wrong(s.name, 0, "is named .gz and is not packed by gzip, or is damaged", "take it over again, or name it as what it is")
	}
	return wrong(s.name, 0, "cannot be read: "+cause(err), "take it over again")
}

// cause is the reason in an error of the system, without the path.
func cause(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

func wrong(file string, line int, found, do string) error {
	return fault.List{{File: file, Row: line, Found: found, Do: do}}
}

// lines gives the lines of a text one by one.
type lines struct {
	from       io.Reader
	end        byte // that ends a line: '\n', or '\r' in files of old
	buffer     []byte
	start      int // of what has not been given
	at         int // number of the line that was given last, from 1
	done       bool
	unfinished bool // the line that was given last has no end
}

// next returns the next line without its end; ok is false after the last. The line is good until
// the next call.
func (l *lines) next() (line []byte, ok bool, err error) {
	searched := 0
	for {
		rest := l.buffer[l.start:]
		if i := bytes.IndexByte(rest[searched:], l.end); i >= 0 {
			line = rest[:searched+i]
			l.start += searched + i + 1
			l.at++
			if n := len(line); n > 0 && line[n-1] == '\r' {
				line = line[:n-1]
			}
			return line, true, nil
		}
		searched = len(rest)
		if l.done {
			l.start = len(l.buffer)
			if len(rest) == 0 {
				return nil, false, nil
			}
			l.at++
			l.unfinished = true
			return rest, true, nil
		}
		if searched > lineBytes {
			return nil, false, errLongLine
		}
		if err := l.fill(); err != nil {
			return nil, false, err
		}
	}
}

var errLongLine = fmt.Errorf("a line is longer than %d bytes", lineBytes)

// fill reads another piece behind what has not been given.
func (l *lines) fill() error {
	kept := copy(l.buffer, l.buffer[l.start:])
	l.start = 0
	if cap(l.buffer) < kept+pieceBytes {
		l.buffer = append(make([]byte, 0, 2*(kept+pieceBytes)), l.buffer[:kept]...)
	}
	whole := kept + pieceBytes
	for kept < whole { // a packed file comes in small pieces
		n, err := l.from.Read(l.buffer[kept:whole])
		kept += n
		if err == io.EOF {
			l.done = true
			break
		}
		if err != nil {
			return err
		}
	}
	l.buffer = l.buffer[:kept]
	return nil
}
