package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

func TestColourful(t *testing.T) {
	tests := []struct {
		noColor, term string
		want          bool
	}{
		{"", "xterm", true},
		{"", "", true},
		{"1", "xterm", false},
		{"0", "xterm", false}, // any text but none counts
		{"", "dumb", false},
	}
	for _, tt := range tests {
		getenv := func(name string) string { return map[string]string{"NO_COLOR": tt.noColor, "TERM": tt.term}[name] }
		if got := colourful(getenv); got != tt.want {
			t.Errorf("colourful(NO_COLOR=%q, TERM=%q) = %v, want %v", tt.noColor, tt.term, got, tt.want)
		}
	}
}

func TestStyleOfWhatIsNoTerminal(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if s := styleOf(file); s.Colour || s.Width != usualWidth {
		t.Errorf("a file gets %+v", s)
	}
	if s := styleOf(&bytes.Buffer{}); s.Colour || s.Width != usualWidth {
		t.Errorf("a buffer gets %+v", s)
	}
}

func TestList(t *testing.T) {
	got := list([]string{"a, b", "", "c,", " d e "})
	if want := []string{"a", "b", "c", "d e"}; !slices.Equal(got, want) {
		t.Errorf("list = %q, want %q", got, want)
	}
}
