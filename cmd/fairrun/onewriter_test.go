package main

import (
	"path"
	"regexp"
	"strings"
	"testing"
)

// All writing of files goes through one package, so that all of it is safe alike.
func TestOneWriter(t *testing.T) {
	t.Parallel()
	writes := regexp.MustCompile(`\b(os\.(WriteFile|Create|CreateTemp|OpenFile|Rename|Remove|RemoveAll|Mkdir|MkdirAll|MkdirTemp|Link|Symlink|Chmod|Chown|Truncate|Chtimes)|ioutil\.\w+|atomic\.(WriteFile|ReplaceFile)|flock\.New|syscall\.(Open|Rename|Unlink))\b`)
	for _, line := range []string{"os.WriteFile(a, b, c)", "f, err := os.OpenFile(a, b, c)", "flock.New(a)", "atomic.WriteFile(a, b)"} {
		if !writes.MatchString(line) {
			t.Fatalf("%s is not found", line)
		}
	}
	allowed := map[string]bool{
		"design/disk":                  true, // the one
		"design/internal/campaigntest": true, // for tests
		"stats/internal/accuracy":      true, // for tests
	}
	eachFile(t, func(name string, text []byte) {
		if path.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") || allowed[path.Dir(name)] {
			return
		}
		for i, line := range strings.Split(string(text), "\n") {
			if code, _, _ := strings.Cut(line, "//"); writes.MatchString(code) {
				t.Errorf("%s:%d writes a file by itself, not by package store: %s", name, i+1, strings.TrimSpace(line))
			}
		}
	})
}
