package plan

import (
	"bytes"
	"strings"
	"testing"
)

func TestAddLog(t *testing.T) {
	plain := bytes.Replace(measuredPlan("ms", "", `{ what = "x" }`), []byte("measure = { what = \"x\" }\n"), []byte("# a comment"), 1)
	for _, eol := range []string{"\n", "\r\n"} {
		data := bytes.ReplaceAll(plain, []byte("\n"), []byte(eol))
		got, err := AddLog("x", data, goodLog)
		if err != nil {
			t.Fatal(err)
		}
		if want := string(data) + strings.ReplaceAll("\n\n"+goodLog, "\n", eol); string(got) != want {
			t.Errorf("got %q, want %q", got, want)
		}
		if c, err := Parse("x", got); err != nil || c.Log.Column("throttle") == nil {
			t.Errorf("it is read as %+v, %v", c, err)
		}
		if _, err := AddLog("x", got, goodLog); err == nil || !strings.Contains(err.Error(), "has a [log] already") {
			t.Errorf("twice: %v", err)
		}
	}
	if _, err := AddLog("x", []byte("a = "), goodLog); err == nil {
		t.Error("what is not TOML is taken")
	}
}
