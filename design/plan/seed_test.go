package plan_test

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"fairrun/design/plan"
)

func TestWriteSeed(t *testing.T) {
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
		path := filepath.Join(t.TempDir(), "campaign.toml")
		if err := os.WriteFile(path, []byte(c.before), 0o640); err != nil {
			t.Fatal(err)
		}
		if err := plan.WriteSeed(path, 41); err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		after, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if string(after) != c.after {
			t.Errorf("%s: %q\nwant %q", c.name, after, c.after)
		}
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if runtime.GOOS != "windows" && info.Mode().Perm() != 0o640 {
			t.Errorf("%s: mode %v, want it kept", c.name, info.Mode())
		}
	}
}

func TestWriteSeedRefuses(t *testing.T) {
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
		dir := t.TempDir()
		path := filepath.Join(dir, "campaign.toml")
		if err := os.WriteFile(path, []byte(c.data), 0o600); err != nil {
			t.Fatal(err)
		}
		err := plan.WriteSeed(path, c.seed)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "campaign.toml") {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
		after, err := os.ReadFile(path)
		if err != nil || string(after) != c.data {
			t.Errorf("%s: the file became %q (%v)", c.name, after, err)
		}
		if files, err := os.ReadDir(dir); err != nil || len(files) != 1 {
			t.Errorf("%s: left behind %v (%v)", c.name, files, err)
		}
	}
	if err := plan.WriteSeed(filepath.Join(t.TempDir(), "none.toml"), 41); err == nil {
		t.Error("no error without a file")
	}
}

func TestWriteSeedFollowsLinks(t *testing.T) {
	dir := t.TempDir()
	target, link := filepath.Join(dir, "target.toml"), filepath.Join(dir, "campaign.toml")
	if err := os.WriteFile(target, []byte("title = \"a\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, link); err != nil {
		t.Skip(err)
	}
	if err := plan.WriteSeed(link, 41); err != nil {
		t.Fatal(err)
	}
	if data, err := os.ReadFile(target); err != nil || string(data) != "title = \"a\"\nseed = 41\n" {
		t.Errorf("target holds %q (%v)", data, err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link became a file (%v)", err)
	}
}
