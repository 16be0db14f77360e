package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"fairrun": main})
}

// TestScripts runs the command as a person would: one behaviour a script.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits, "edit": edit, "large": large, "lock": lock, "valid": valid, "kept": kept, "says": says, "narrow": narrow, "page": onPage,
		},
		Condition: condition,
		Setup: func(e *testscript.Env) error {
			e.Setenv("LC_ALL", "C.UTF-8") // in which pictures are drawn with lines
			return nil
		},
	})
}

// exits runs a program and requires its very exit code: exits 2 fairrun sheet.
// Both streams are there for stdout and stderr afterwards.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARGS…")
	}
	want, err := strconv.Atoi(args[0])
	if err != nil {
		ts.Fatalf("exit code %q is no number", args[0])
	}
	got := 0
	err = ts.Exec(args[1], args[2:]...)
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// edit replaces what matches a regular expression, line by line, as a person
// would in an editor; escapes such as \n and \xff work in both. It has to match.
//
//	edit FILE REGEXP REPLACEMENT
func edit(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: edit FILE REGEXP REPLACEMENT")
	}
	text := []byte(ts.ReadFile(args[0]))
	find, err := regexp.Compile("(?m)" + args[1])
	ts.Check(err)
	replacement, err := strconv.Unquote(`"` + strings.ReplaceAll(args[2], `"`, `\"`) + `"`)
	ts.Check(err)
	if !find.Match(text) {
		ts.Fatalf("%s holds nothing that matches %q", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), find.ReplaceAll(text, []byte(replacement)), 0o666))
}

// says is stdout for what is written in paragraphs: the regular expression is looked for in all of standard output with
// the lines of each paragraph joined, so that it does not matter where they are broken.
//
//	[!] says REGEXP
func says(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: [!] says REGEXP")
	}
	text := strings.ReplaceAll(ts.ReadFile("stdout"), "\n  ", " ")
	found, err := regexp.MatchString("(?m)"+args[0], text)
	ts.Check(err)
	if found == neg {
		ts.Fatalf("%q found: %v, in:\n%s", args[0], found, text)
	}
}

// narrow requires that no line of standard output is longer than so many columns.
//
//	narrow COLUMNS
func narrow(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: narrow COLUMNS")
	}
	columns, err := strconv.Atoi(args[0])
	ts.Check(err)
	for line := range strings.Lines(ts.ReadFile("stdout")) {
		if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > columns {
			ts.Fatalf("%d columns: %s", n, line)
		}
	}
}

// onPage requires that the part of standard output that a response's title begins has no more than so many lines, with the
// blank lines in it.
//
//	page LINES RESPONSE
func onPage(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: page LINES RESPONSE")
	}
	most, err := strconv.Atoi(args[0])
	ts.Check(err)
	_, after, found := strings.Cut(ts.ReadFile("stdout"), "\n"+args[1]+": ")
	if !found {
		ts.Fatalf("%s has no page", args[1])
	}
	lines := 0
	for line := range strings.Lines(after) {
		if pageTitle.MatchString(line) {
			break
		}
		lines++
	}
	if lines > most {
		ts.Fatalf("the page of %s has %d lines", args[1], lines)
	}
}

// pageTitle is what the next page begins with.
var pageTitle = regexp.MustCompile(`^(\w+: in |All responses)`)

// kept requires a file to begin with all the bytes of another, and to go on.
//
//	kept FILE BEGINNING
func kept(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: kept FILE BEGINNING")
	}
	text, beginning := ts.ReadFile(args[0]), ts.ReadFile(args[1])
	if !strings.HasPrefix(text, beginning) || len(text) == len(beginning) {
		ts.Fatalf("%s does not begin with %s and go on:\n%s", args[0], args[1], text)
	}
}

// large makes a file of a number of megabytes: of zero bytes, or of lines that
// repeat a text after a first line.
//
//	large FILE MEGABYTES [FIRST REPEATED]
func large(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 && len(args) != 4 {
		ts.Fatalf("usage: large FILE MEGABYTES [FIRST REPEATED]")
	}
	size, err := strconv.Atoi(args[1])
	ts.Check(err)
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	defer func() { ts.Check(f.Close()) }()
	if len(args) == 2 {
		ts.Check(f.Truncate(int64(size) << 20))
		return
	}
	_, err = f.WriteString(args[2] + "\n")
	ts.Check(err)
	lines := strings.Repeat(args[3]+"\n", 1+1<<20/len(args[3]))
	for range size {
		_, err = f.WriteString(lines[:1<<20/(len(args[3])+1)*(len(args[3])+1)])
		ts.Check(err)
	}
}

// condition answers [superuser]: whether permissions do not bind.
func condition(name string) (bool, error) {
	if name != "superuser" {
		return false, fmt.Errorf("condition %q is unknown", name)
	}
	return os.Geteuid() == 0, nil
}

// lock takes a folder's permission to be written.
//
//	lock FOLDER
func lock(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: lock FOLDER")
	}
	dir := ts.MkAbs(args[0])
	ts.Check(os.Chmod(dir, 0o555))
	ts.Defer(func() { ts.Check(os.Chmod(dir, 0o777)) })
}

// valid requires that standard output is whole: one JSON value that follows its schema, or CSV or
// Markdown tables with the same number of cells in every row.
//
//	valid json|csv|markdown
func valid(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: valid json|csv|markdown")
	}
	text := ts.ReadFile("stdout")
	switch args[0] {
	case "json":
		if err := bySchema([]byte(text)); err != nil {
			ts.Fatalf("%v in:\n%s", err, text)
		}
	case "csv":
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		if err != nil || len(rows) < 2 {
			ts.Fatalf("%d rows of CSV: %v", len(rows), err)
		}
	case "markdown":
		tables, cells := 0, 0
		for line := range strings.Lines(text) {
			n := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|")
			if cells == 0 && n > 0 {
				tables++
			} else if n != cells && n > 0 {
				ts.Fatalf("%d cells in place of %d: %s", n-1, cells-1, line)
			}
			cells = n
		}
		if tables == 0 {
			ts.Fatalf("there is no table in:\n%s", text)
		}
	default:
		ts.Fatalf("format %q is unknown", args[0])
	}
}
