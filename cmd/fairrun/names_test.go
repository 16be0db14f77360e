package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"slices"
	"strings"
	"testing"
)

// Each of these names is the name of a type in one package at most, so that nobody has to
// ask which one is meant.
func TestOneTypeOfAName(t *testing.T) {
	t.Parallel()
	single := []string{"Campaign", "Check", "Comparison", "Fault", "Layout", "Look", "Looks", "Noise", "Source", "Split", "Words"}
	where, types := map[string]string{}, 0
	eachFile(t, func(name string, text []byte) {
		if path.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") {
			return
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.TypeSpec)
			if !ok {
				return true
			}
			types++
			if !slices.Contains(single, s.Name.Name) {
				return true
			}
			if other := where[s.Name.Name]; other != "" && other != path.Dir(name) {
				t.Errorf("%s is a type of %s and of %s", s.Name.Name, other, path.Dir(name))
			}
			where[s.Name.Name] = path.Dir(name)
			return true
		})
	})
	if types < 100 || where["Campaign"] == "" {
		t.Fatalf("%d types found, Campaign in %q", types, where["Campaign"])
	}
}

// A Go file is named after its one idea. These names say nothing of what is in it.
func TestFilesAreNamedAfterAnIdea(t *testing.T) {
	t.Parallel()
	empty := []string{
		"base", "common", "complete", "course", "few", "finds", "fitted", "frame", "freed", "general", "helper", "helpers",
		"internal", "misc", "more", "other", "stuff", "type", "types", "util", "utils",
	}
	eachFile(t, func(name string, _ []byte) {
		if path.Ext(name) != ".go" {
			return
		}
		if idea := strings.TrimSuffix(strings.TrimSuffix(path.Base(name), ".go"), "_test"); slices.Contains(empty, idea) {
			t.Errorf("%s: name the file after what is in it", name)
		}
	})
}
