package plan_test

import (
	"strings"
	"testing"

	"fairrun/design/plan"
)

func TestSetSeed(t *testing.T) {
	for _, c := range []struct{ name, before, after string }{
		{"after title and scope", "# plan\ntitle = \"a\"\nscope = \"b\" # what\n\n[block]\ncount = 2\n", "# plan\ntitle = \"a\"\nscope = \"b\" # what\nseed = 41\n\n[block]\ncount = 2\n"},
		{"scope before title", "scope = \"b\"\ntitle = \"a\"\n[block]\n", "scope = \"b\"\ntitle = \"a\"\nseed = 41\n[block]\n"},
		{"text over several lines", "title = \"\"\"a\n= b\"\"\" # c\n[block]\n", "title = \"\"\"a\n= b\"\"\" # c\nseed = 41\n[block]\n"},
		{"no title, no scope", "[block]\ncount = 2\n", "seed = 41\n[block]\ncount = 2\n"},
		{"title of a block", "[block]\ntitle = \"a\"\n", "seed = 41\n[block]\ntitle = \"a\"\n"},
		{"dotted title", "title.a = 1\n", "seed = 41\ntitle.a = 1\n"},
		{"no end of line", "title = \"a\"", "title = \"a\"\nseed = 41"},
		{"no end of line after others", "title = \"a\"\r\nscope = \"b\"", "title = \"a\"\r\nscope = \"b\"\r\nseed = 41"},
		{"CRLF and byte order mark", "\ufefftitle = \"µ\"\r\n[block]\r\n", "\ufefftitle = \"µ\"\r\nseed = 41\r\n[block]\r\n"},
		{"byte order mark alone before", "\ufeff[block]\r\ncount = 1\r\n", "\ufeffseed = 41\r\n[block]\r\ncount = 1\r\n"},
		{"in place", "\ufeff\"seed\"  =  7   # mine\r\ntitle = \"a\"\r\n", "\ufeff\"seed\"  =  41   # mine\r\ntitle = \"a\"\r\n"},
		{"in place of a list", "seed = [1, # one\n 2]\ntitle = \"a\"\n", "seed = 41\ntitle = \"a\"\n"},
		{"there already", "title = \"a\"\nseed=41\n", "title = \"a\"\nseed=41\n"},
	} {
		after, err := plan.SetSeed("campaign.toml", []byte(c.before), 41)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if string(after) != c.after {
			t.Errorf("%s: %q\nwant %q", c.name, after, c.after)
		}
	}
}

func TestSetSeedRefuses(t *testing.T) {
	for _, c := range []struct {
		name, data string
		seed       uint64
		want       string
	}{
		{"seed no file can hold", "title = \"a\"\n", 1 << 63, "above 9223372036854775807"},
		{"file that is not TOML", "title = \"a\n", 41, ":1:11: not TOML"},
		{"key twice", "seed = 1\nseed = 2\n", 41, `:2:1: "seed" already stands at line 1`},
		{"seed that is a table", "[seed]\na = 1\n", 41, ":1:2: seed is a table"},
		{"empty file", "", 41, "is empty"},
	} {
		_, err := plan.SetSeed("campaign.toml", []byte(c.data), c.seed)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "campaign.toml") {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}
