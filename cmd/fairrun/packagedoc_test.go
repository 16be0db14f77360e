package main

import (
	"go/parser"
	"go/token"
	"path"
	"regexp"
	"strings"
	"testing"
)

// The comment of every package says which of its files to read first, and that file exists.
func TestPackageComments(t *testing.T) {
	t.Parallel()
	comments, files := map[string]string{}, map[string]bool{}
	eachFile(t, func(name string, text []byte) {
		if path.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") {
			return
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.PackageClauseOnly|parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = true
		comments[path.Dir(name)] += file.Doc.Text()
	})
	first := regexp.MustCompile(`Read (\w+\.go)\b`)
	for dir, comment := range comments {
		comment = strings.Join(strings.Fields(comment), " ")
		if m := first.FindStringSubmatch(comment); m == nil {
			t.Errorf("the comment of package %s does not say which file to read first", dir)
		} else if !files[path.Join(dir, m[1])] {
			t.Errorf("the comment of package %s says to read %s, which is no file", dir, m[1])
		}
		if strings.Count(comment, "Package "+path.Base(dir)+" ") > 1 {
			t.Errorf("package %s has two comments", dir)
		}
	}
	if len(comments) < 25 {
		t.Fatalf("%d packages found", len(comments))
	}
}
