package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"
)

// Every page fits 80 columns and leaves nothing out.
func TestHelp(t *testing.T) {
	app := newApp(streams{})
	pages := [][]string{{"fairrun", "help"}}
	for _, c := range app.Commands {
		pages = append(pages, []string{"fairrun", c.Name, "--help"}, []string{"fairrun", "help", c.Name})
	}
	for _, args := range pages {
		var out, errs bytes.Buffer
		if code := run(args, streams{In: strings.NewReader(""), Out: &out, Err: &errs}); code != exitDone || errs.Len() > 0 {
			t.Errorf("%q: exit code %d, errors %q", args, code, errs.String())
		}
		for line := range strings.Lines(out.String()) {
			if line = strings.TrimSuffix(line, "\n"); utf8.RuneCountInString(line) > helpWidth || strings.HasSuffix(line, " ") {
				t.Errorf("%q: the line %q is too wide or ends in a blank", args, line)
			}
		}
		if args[1] == "help" {
			continue
		}
		for _, f := range app.Command(args[1]).Flags {
			if name := "--" + f.Names()[0]; name != "--help" && !strings.Contains(out.String(), name) {
				t.Errorf("%q does not tell of %s", args, name)
			}
		}
	}
}
