package main

import (
	"bytes"
	"os"
	"strings"
	"testing"
)

// TestReadme looks for every command and line that the README shows in what the
// demonstration prints.
func TestReadme(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	t.Setenv("LC_ALL", "C.UTF-8")
	demo := output(t, "demo")
	shown := 0
	for _, block := range strings.Split(string(text), "```")[1:] {
		command, lines, found := strings.Cut(strings.TrimSpace(block), "\n")
		if !found || !strings.HasPrefix(command, "$ fairrun ") {
			continue
		}
		shown++
		for _, line := range append(strings.Split(lines, "\n"), command) {
			if !strings.Contains(demo, line) {
				t.Errorf("README shows %q, which the demonstration does not print", line)
			}
		}
	}
	if shown < 4 {
		t.Errorf("the README shows the output of %d commands", shown)
	}
}

// output runs a command that must succeed and returns what it prints.
func output(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), append([]string{"fairrun"}, args...), streams{In: strings.NewReader(""), Out: &out, Err: &errs}); code != exitDone {
		t.Fatalf("fairrun %v: exit code %d\n%s", args, code, errs.String())
	}
	return out.String()
}
