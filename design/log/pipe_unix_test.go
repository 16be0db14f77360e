//go:build unix

package log

import (
	"context"
	"path/filepath"
	"syscall"
	"testing"
)

// A pipe is refused at once: opening it would wait for a writer.
func TestPipe(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "run.csv")
	if err := syscall.Mkfifo(path, 0o666); err != nil {
		t.Skip("no pipes here")
	}
	_, err := Read(context.Background(), path, sampleLayout)
	matches(t, err, "is no file that holds a log")
	_, err = Hash(context.Background(), path)
	matches(t, err, "is no file that holds a log")
}
