package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairrun/stats/parallel"
)

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		err  error
		code int
		says string
	}{
		{nil, exitDone, ""},
		{errors.New("no sheet"), exitFailed, "fairrun: no sheet\n"},
		{misuse("no flag"), exitUsage, "fairrun: no flag\nfairrun: see 'fairrun verdict --help'\n"},
		{errAttention, exitAttention, ""},
		{fmt.Errorf("tank: %w", context.Canceled), exitInterrupted, "fairrun: interrupted\n"},
	} {
		var errs bytes.Buffer
		if code := report(&errs, c.err, []string{"fairrun", "verdict"}); code != c.code || errs.String() != c.says {
			t.Errorf("%v: exit code %d, says %q; want %d, %q", c.err, code, errs.String(), c.code, c.says)
		}
	}
}

// TestFault: a panic, wherever it happens, is reported on one line with its place and the command.
func TestFault(t *testing.T) {
	var none []int
	for name, work := range map[string]func(){
		"on the same goroutine": func() { panic("lost\nthe order") },
		"in shared work": func() {
			var g parallel.Group
			g.Go(func() { panic("lost\nthe order") })
			g.Wait()
		},
		"in shared work of shared work": func() {
			var g, inner parallel.Group
			g.Go(func() {
				inner.Go(func() { panic("lost\nthe order") })
				inner.Wait()
			})
			g.Wait()
		},
		"by the runtime": func() { none[3] = 1 },
	} {
		var errs bytes.Buffer
		err := guarded(func() error { work(); return nil })
		code := report(&errs, err, []string{"/bin/fairrun", "verdict", "my tank", "--random", "pack within motor's", "--alpha=0.1"})
		got, says := errs.String(), "lost the order (fairrun/exit_test.go:"
		if name == "by the runtime" {
			says = "runtime error: index out of range [3] with length 0 (fairrun/exit_test.go:"
		}
		begins := "fairrun: a fault in fairrun itself: " + says
		ends := `); please report it, with the command: fairrun verdict 'my tank' --random 'pack within motor'\''s' --alpha=0.1` + "\n"
		if code != exitFault || !strings.HasPrefix(got, begins) || !strings.HasSuffix(got, ends) || strings.Count(got, "\n") != 1 {
			t.Errorf("%s: exit code %d, says\n%s", name, code, got)
		}
	}
}

// TestGoroutines: no code starts a goroutine whose panic would end the program without a word.
func TestGoroutines(t *testing.T) {
	t.Parallel()
	started := 0
	eachFile(t, func(name string, text []byte) {
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return
		}
		fset := token.NewFileSet()
		file, err := parser.ParseFile(fset, name, text, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt:
				started++
				if at := fset.Position(n.Pos()); !strings.Contains(strings.Split(string(text), "\n")[at.Line-1], "guarded(") {
					t.Errorf("%s: a goroutine outside of guarded and stats/parallel", at)
				}
			case *ast.SelectorExpr:
				if x, ok := n.X.(*ast.Ident); ok && x.Name == "sync" && n.Sel.Name == "WaitGroup" && name != "stats/parallel/group.go" {
					t.Errorf("%s: shared work outside of stats/parallel", fset.Position(n.Pos()))
				}
			}
			return true
		})
	})
	if started < 2 {
		t.Errorf("%d goroutines were found", started)
	}
}

// TestInterrupt: the interrupt of a terminal ends a command that is at work, with its own code.
func TestInterrupt(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a program cannot send an interrupt to another")
	}
	t.Parallel()
	program, err := exec.LookPath("fairrun")
	if err != nil {
		t.Fatal(err)
	}
	command := exec.Command(program, "verdict", "--data", "-", "--response", "y", "--factor", "t")
	var out, errs bytes.Buffer
	command.Stdout, command.Stderr = &out, &errs
	in, err := command.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	// More than a pipe holds: once all is written the command reads it, and then waits for more.
	if _, err := io.WriteString(in, "t,y\n"+strings.Repeat("a,1\nb,2\n", 1<<17)); err != nil {
		t.Fatal(err)
	}
	if err := command.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	err = command.Wait()
	if code := command.ProcessState.ExitCode(); code != exitInterrupted || errs.String() != "fairrun: interrupted\n" || out.Len() > 0 {
		t.Errorf("%v, exit code %d, says %q, prints %q", err, code, errs.String(), out.String())
	}
}

// TestInterruptOfRandomisation: an interrupt ends a randomisation test that would take minutes at once.
func TestInterruptOfRandomisation(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a program cannot send an interrupt to another")
	}
	t.Parallel()
	program, err := exec.LookPath("fairrun")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	plan, err := os.ReadFile(filepath.Join("testdata", "golden", "complete.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, planFile), plan, 0o644); err != nil {
		t.Fatal(err)
	}
	output(t, "sheet", dir)
	fillIn(t, filepath.Join(dir, "runsheet.csv"))
	command := exec.Command(program, "verdict", dir, "--orders", strconv.Itoa(mostOrders))
	var out, errs bytes.Buffer
	command.Stdout, command.Stderr = &out, &errs
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Second) // to begin: an interrupt before that ends it by the system, with no word
	interrupted := time.Now()
	if err := command.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	err = command.Wait()
	if code := command.ProcessState.ExitCode(); code != exitInterrupted || errs.String() != "fairrun: interrupted\n" || out.Len() > 0 {
		t.Errorf("%v, exit code %d, says %q, prints %q", err, code, errs.String(), out.String())
	}
	if took := time.Since(interrupted); took > time.Second { // of which it takes a tenth on an idle machine
		t.Errorf("it ended after %v", took)
	}
}

// TestExitCodesAreListed: the help and the README list every code, each with one meaning.
func TestExitCodesAreListed(t *testing.T) {
	readme, err := os.ReadFile(filepath.FromSlash("../../README.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range exitMeanings {
		if row := "| " + strconv.Itoa(e.code) + " | " + e.meaning + " |"; !strings.Contains(string(readme), row) {
			t.Errorf("README.md has no line %q", row)
		}
	}
	if codes := exitCodes(); !strings.Contains(output(t, "help"), codes) {
		t.Errorf("the help does not list\n%s", codes)
	}
}
