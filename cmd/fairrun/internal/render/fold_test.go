package render

import (
	"strings"
	"testing"
	"unicode/utf8"
)

var wide = Table{
	Align: "lrrrr", Groups: []int{1, 3},
	Head: []string{"level", "aaaa", "bbbb", "cccc", "dddd"},
	Rows: [][]string{{"one", "1", "2", "3", "4"}, {"two", "5", "6", "7", "8"}},
}

func printed(t *testing.T, table Table, f Format, width int) string {
	t.Helper()
	d := &Document{}
	d.Table(table)
	var b strings.Builder
	if err := d.Write(&b, f, Style{Width: width}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestFold(t *testing.T) {
	const whole = ` level  aaaa  bbbb  cccc  dddd
------------------------------
 one       1     2     3     4
 two       5     6     7     8
`
	const groups = ` level  aaaa  bbbb
------------------
 one       1     2
 two       5     6

 level  cccc  dddd
------------------
 one       3     4
 two       7     8
`
	tests := []struct {
		width int
		want  string
	}{{0, whole}, {30, whole}, {29, groups}, {18, groups}}
	for _, tt := range tests {
		if got := printed(t, wide, Terminal, tt.width); got != tt.want {
			t.Errorf("at %d columns:\n%s\nwant\n%s", tt.width, got, tt.want)
		}
	}
}

// Where a group does not fit, columns go below each other, and a column that
// is wider than the screen stands alone.
func TestFoldBetweenColumns(t *testing.T) {
	for width := 1; width <= 40; width++ {
		text := printed(t, wide, Terminal, width)
		for _, name := range wide.Head[1:] {
			if strings.Count(text, name) != 1 {
				t.Errorf("at %d columns %q stands %d times", width, name, strings.Count(text, name))
			}
		}
		for line := range strings.Lines(text) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > max(width, len(" level  aaaa")) {
				t.Errorf("at %d columns a line has %d: %q", width, n, line)
			}
		}
	}
}

func TestMarkdownIsNotFolded(t *testing.T) {
	if text := printed(t, wide, Markdown, 10); strings.Count(text, "level") != 1 {
		t.Errorf("Markdown was folded:\n%s", text)
	}
}

func TestWrap(t *testing.T) {
	tests := []struct {
		text  string
		width int
		hang  string
		want  string
	}{
		{"one two three", 0, "", "one two three\n"},
		{"one two three", 7, "", "one two\nthree\n"},
		{"one two three", 7, "  ", "one two\n  three\n"},
		{"  one two", 7, "  ", "  one\n    two\n"},
		{"overlong two", 3, "", "overlong\ntwo\n"},
		{"größer als", 10, "", "größer als\n"},
		{"one\n\ntwo", 9, "", "one\n\ntwo\n"},
	}
	for _, tt := range tests {
		if got := Wrap(tt.text, tt.width, tt.hang); got != tt.want {
			t.Errorf("Wrap(%q, %d, %q) = %q, want %q", tt.text, tt.width, tt.hang, got, tt.want)
		}
	}
}

// What tells rows apart is repeated beside every part.
func TestFoldRepeatsKeys(t *testing.T) {
	table := Table{Align: "llrr", Keys: 2, Head: []string{"order", "analysed", "at 5 % a look", "if B differs"},
		Rows: [][]string{{"sorted", "without drift", "1", "2"}, {"sorted", "with linear drift", "3", "4"}}}
	parts := table.fold(Terminal, 46)
	if len(parts) != 2 {
		t.Fatalf("%d parts, want 2", len(parts))
	}
	for k, last := range []string{"at 5 % a look", "if B differs"} {
		if got := strings.Join(parts[k].Head, "|"); got != "order|analysed|"+last {
			t.Errorf("part %d: %s", k, got)
		}
		if got := parts[k].Rows[1][1]; got != "with linear drift" {
			t.Errorf("part %d: second row is analysed %q", k, got)
		}
	}
}
