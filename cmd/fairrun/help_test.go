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
	page(t, app.Name, "help")
	page(t, app.Name, "help", "help")
	for _, c := range app.Commands {
		if c.Name == "help" {
			continue
		}
		text := page(t, app.Name, c.Name, "--help")
		if other := page(t, app.Name, "help", c.Name); other != text {
			t.Errorf("help %s and %s --help differ:\n%s\n%s", c.Name, c.Name, other, text)
		}
		for _, f := range c.Flags {
			if name := f.Names()[0]; name != "help" && !strings.Contains(text, "--"+name) {
				t.Errorf("the page of %s does not mention --%s", c.Name, name)
			}
		}
	}
}

// page is a page of help.
func page(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), args, streams{In: strings.NewReader(""), Out: &out, Err: &errs}); code != exitDone || errs.Len() > 0 {
		t.Errorf("%q: exit code %d, errors %q", args, code, errs.String())
	}
	for line := range strings.Lines(out.String()) {
		if line = strings.TrimSuffix(line, "\n"); utf8.RuneCountInString(line) > helpWidth || strings.HasSuffix(line, " ") {
			t.Errorf("%q: the line %q is too wide or ends in a blank", args, line)
		}
	}
	return out.String()
}
