package main

import (
	"bytes"
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// TestLayers compares what packages import with the floors that docs/architecture.md
// gives them: imports run down, or stay on a floor.
func TestLayers(t *testing.T) {
	t.Parallel()
	floors, packages := readFloors(t), readPackages(t)
	for _, p := range slices.Sorted(maps.Keys(packages)) {
		floor, known := floors[p]
		if !known {
			t.Errorf("docs/architecture.md has no floor for %s", p)
			continue
		}
		for _, file := range packages[p] {
			for _, i := range file.imports {
				if below, ours := floors[i]; ours && below > floor || strings.HasPrefix(p, "stats/") && strings.HasPrefix(i, "design") {
					t.Errorf("%s, on floor %d, imports %s on floor %d", file.path, floor, i, below)
				}
			}
		}
	}
	for _, p := range slices.Sorted(maps.Keys(floors)) {
		if packages[p] == nil {
			t.Errorf("docs/architecture.md has a floor for %s, which is no package", p)
		}
	}
}

// A numeric package reads no file, prints nothing and knows no TOML.
func TestNumericPackagesOnlyCompute(t *testing.T) {
	t.Parallel()
	kept := []string{"os", "io/fs", "log", "log/slog", "net", "net/http", "path/filepath", "github.com/pelletier/go-toml/v2"}
	for p, files := range readPackages(t) {
		if !strings.HasPrefix(p, "stats/") || strings.HasPrefix(p, "stats/internal/") {
			continue
		}
		for _, f := range files {
			for _, i := range f.imports {
				if !f.test && slices.Contains(kept, i) {
					t.Errorf("%s imports %s", f.path, i)
				}
			}
		}
	}
}

// A package is small enough to know, and a file to read in one go: lines of any kind, tests aside.
func TestSizes(t *testing.T) {
	t.Parallel()
	const ofPackage, ofFile = 5500, 500
	for p, files := range readPackages(t) {
		sum := 0
		for _, f := range files {
			if f.test {
				continue
			}
			if sum += f.lines; f.lines > ofFile {
				t.Errorf("%s has %d lines, more than %d", f.path, f.lines, ofFile)
			}
		}
		if sum > ofPackage {
			t.Errorf("%s has %d lines, more than %d", p, sum, ofPackage)
		}
	}
}

// source is a Go file of the tree.
type source struct {
	path    string // from the top, with slashes
	test    bool
	lines   int
	imports []string // those of this module from its top
}

// readPackages reads the Go files of each folder of the tree.
func readPackages(t *testing.T) map[string][]source {
	t.Helper()
	packages := map[string][]source{}
	eachFile(t, func(name string, text []byte) {
		if path.Ext(name) != ".go" {
			return
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		s := source{path: name, test: strings.HasSuffix(name, "_test.go"), lines: bytes.Count(text, []byte("\n"))}
		for _, i := range file.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			s.imports = append(s.imports, strings.TrimPrefix(p, "fairrun/"))
		}
		packages[path.Dir(name)] = append(packages[path.Dir(name)], s)
	})
	return packages
}

// eachFile gives a function every file of the tree, named from its top with slashes,
// but those in folders whose name begins with a dot.
func eachFile(t *testing.T, do func(name string, text []byte)) {
	t.Helper()
	top := os.DirFS("../..")
	err := fs.WalkDir(top, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name != "." && strings.HasPrefix(path.Base(name), ".") {
				return fs.SkipDir
			}
			return nil
		}
		text, err := fs.ReadFile(top, name)
		if err != nil {
			return err
		}
		do(name, text)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// readFloors reads the floors of the packages from the table of the page.
func readFloors(t *testing.T) map[string]int {
	t.Helper()
	page, err := os.ReadFile(filepath.FromSlash("../../docs/architecture.md"))
	if err != nil {
		t.Fatal(err)
	}
	floors := map[string]int{}
	quoted := regexp.MustCompile("`([^`]+)`")
	for _, row := range regexp.MustCompile(`(?m)^\| (\d+) \| ([^|]*) \|`).FindAllStringSubmatch(string(page), -1) {
		floor, err := strconv.Atoi(row[1])
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range quoted.FindAllStringSubmatch(row[2], -1) {
			for _, p := range alternatives(name[1]) {
				if _, twice := floors[p]; twice {
					t.Errorf("docs/architecture.md has two floors for %s", p)
				}
				floors[p] = floor
			}
		}
	}
	if len(floors) < 10 {
		t.Fatalf("docs/architecture.md gives floors to %d packages", len(floors))
	}
	return floors
}

// alternatives writes "stats/{a,b}" out: stats/a and stats/b.
func alternatives(name string) []string {
	before, rest, found := strings.Cut(name, "{")
	list, after, closed := strings.Cut(rest, "}")
	if !found || !closed {
		return []string{name}
	}
	var out []string
	for each := range strings.SplitSeq(list, ",") {
		out = append(out, fmt.Sprint(before, each, after))
	}
	return out
}
