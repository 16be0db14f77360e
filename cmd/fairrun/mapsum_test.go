package main

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestNoFloatIsSummedOverAMap finds sums of floats that take the order of a Go map,
// which differs from run to run and with it the last digits of the sum.
func TestNoFloatIsSummedOverAMap(t *testing.T) {
	t.Parallel()
	c := newChecker(t)
	ranges := 0
	for _, p := range c.own {
		var files []string
		for _, f := range p.GoFiles {
			files = append(files, filepath.Join(p.Dir, f))
		}
		found, seen := c.sums(t, p.ImportPath, parse(t, c.fset, files...))
		ranges += seen
		for _, f := range found {
			t.Errorf("%s: go through the keys in order, slices.Sorted(maps.Keys(m))", f)
		}
	}
	if ranges == 0 {
		t.Error("no loop over a map was looked at")
	}
}

// The test must find each way in which a sum can depend on the order of a map, and
// no more.
func TestSumsOverMapsAreFound(t *testing.T) {
	t.Parallel()
	c := newChecker(t)
	text, err := os.ReadFile("testdata/mapsum.go.txt")
	if err != nil {
		t.Fatal(err)
	}
	file, err := parser.ParseFile(c.fset, "mapsum.go", text, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	var want []string
	for _, group := range file.Comments {
		if strings.TrimSpace(group.Text()) == "found" {
			want = append(want, fmt.Sprintf("mapsum.go:%d", c.fset.Position(group.Pos()).Line))
		}
	}
	found, _ := c.sums(t, "mapsum", []*ast.File{file})
	var got []string
	for _, f := range found {
		got = append(got, strings.Join(strings.Split(f, ":")[:2], ":"))
	}
	slices.Sort(got)
	slices.Sort(want)
	if len(want) < 6 || !slices.Equal(got, want) {
		t.Errorf("found %v, want %v", got, want)
	}
}

// checker knows the types of the packages of this module and of all they import.
// It serves one test at a time.
type checker struct {
	fset *token.FileSet
	from types.Importer
	own  []listed
}

// listed is what go list says of a package.
type listed struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
	Module                  *struct{ Main bool }
}

func newChecker(t *testing.T) *checker {
	t.Helper()
	list := exec.Command("go", "list", "-export", "-deps", "-json=ImportPath,Dir,Export,GoFiles,Module", "./...")
	list.Dir, list.Stderr = "../..", os.Stderr
	out, err := list.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := list.Start(); err != nil {
		t.Fatal(err)
	}
	c, exports := &checker{fset: token.NewFileSet()}, map[string]string{}
	for d := json.NewDecoder(out); ; {
		var p listed
		if err := d.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		exports[p.ImportPath] = p.Export
		if p.Module != nil && p.Module.Main {
			c.own = append(c.own, p)
		}
	}
	if err := list.Wait(); err != nil {
		t.Fatal(err)
	}
	c.from = importer.ForCompiler(c.fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	return c
}

func parse(t *testing.T, fset *token.FileSet, paths ...string) []*ast.File {
	t.Helper()
	var files []*ast.File
	for _, path := range paths {
		f, err := parser.ParseFile(fset, path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	return files
}

// sums returns where the files of a package add floats in the order of a map, and
// how many loops over maps there are.
func (c *checker) sums(t *testing.T, path string, files []*ast.File) (found []string, ranges int) {
	t.Helper()
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
	conf := types.Config{Importer: c.from}
	if _, err := conf.Check(path, c.fset, files, info); err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		ast.Inspect(f, func(n ast.Node) bool {
			loop, ok := n.(*ast.RangeStmt)
			if !ok || !overMap(info, loop.X) {
				return true
			}
			ranges++
			for _, at := range (mapLoop{info, loop}).sums() {
				found = append(found, c.fset.Position(at).String()+": a float depends on the order of a map")
			}
			return true
		})
	}
	slices.Sort(found)
	return slices.Compact(found), ranges
}

// overMap says whether a loop goes through a map, or through an iterator over one.
func overMap(info *types.Info, x ast.Expr) bool {
	if call, ok := ast.Unparen(x).(*ast.CallExpr); ok {
		f, ok := ast.Unparen(call.Fun).(*ast.SelectorExpr)
		if ok {
			o := info.Uses[f.Sel]
			return o != nil && o.Pkg() != nil && o.Pkg().Path() == "maps"
		}
	}
	_, isMap := info.TypeOf(x).Underlying().(*types.Map)
	return isMap
}

// mapLoop is one loop over a map.
type mapLoop struct {
	info *types.Info
	loop *ast.RangeStmt
}

// sums returns where in the loop something of floats from outside it takes in one
// round what it had from the rounds before.
func (m mapLoop) sums() (at []token.Pos) {
	ast.Inspect(m.loop.Body, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.AssignStmt:
			for i, to := range n.Lhs {
				var value ast.Expr
				if len(n.Rhs) == len(n.Lhs) {
					value = n.Rhs[i]
				}
				if m.outside(to) && !m.ofKey(to) && floats(m.info.TypeOf(to)) && (n.Tok != token.ASSIGN && n.Tok != token.DEFINE || value != nil && m.mentions(value, to)) {
					at = append(at, n.Pos())
				}
			}
		case *ast.ExprStmt: // x.Add(v)
			call, ok := n.X.(*ast.CallExpr)
			if !ok {
				break
			}
			f, ok := ast.Unparen(call.Fun).(*ast.SelectorExpr)
			if ok && m.outside(f.X) && slices.ContainsFunc(call.Args, func(a ast.Expr) bool { return floats(m.info.TypeOf(a)) }) {
				at = append(at, n.Pos())
			}
		}
		return true
	})
	return at
}

// outside says whether an expression is a variable, or a part of one, that was
// there before the loop.
func (m mapLoop) outside(x ast.Expr) bool {
	o, ok := m.info.ObjectOf(root(x)).(*types.Var)
	return ok && (o.Pos() < m.loop.Pos() || o.Pos() > m.loop.End())
}

// ofKey says whether an expression is the element of something at the key of the
// loop, which each round has to itself.
func (m mapLoop) ofKey(x ast.Expr) bool {
	key, ok := m.loop.Key.(*ast.Ident)
	for ok {
		index, isIndex := ast.Unparen(x).(*ast.IndexExpr)
		if !isIndex {
			return false
		}
		if at, named := ast.Unparen(index.Index).(*ast.Ident); named && m.info.ObjectOf(at) == m.info.ObjectOf(key) {
			return true
		}
		x = index.X
	}
	return false
}

// mentions says whether an expression uses the variable that another is a part of.
func (m mapLoop) mentions(x, to ast.Expr) bool {
	variable, used := m.info.ObjectOf(root(to)), false
	ast.Inspect(x, func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok && m.info.ObjectOf(id) == variable {
			used = true
		}
		return true
	})
	return used
}

// root is the variable that an expression is a part of.
func root(x ast.Expr) *ast.Ident {
	for {
		switch y := x.(type) {
		case *ast.Ident:
			return y
		case *ast.ParenExpr:
			x = y.X
		case *ast.SelectorExpr:
			x = y.X
		case *ast.IndexExpr:
			x = y.X
		case *ast.StarExpr:
			x = y.X
		default:
			return &ast.Ident{}
		}
	}
}

// floats says whether a value is a float or holds some.
func floats(t types.Type) bool {
	switch u := t.Underlying().(type) {
	case *types.Basic:
		return u.Info()&(types.IsFloat|types.IsComplex) != 0
	case *types.Slice:
		return floats(u.Elem())
	case *types.Array:
		return floats(u.Elem())
	case *types.Struct:
		for f := range u.Fields() {
			if floats(f.Type()) {
				return true
			}
		}
	}
	return false
}
