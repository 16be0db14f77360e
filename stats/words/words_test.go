package words_test

import (
	"strings"
	"testing"

	"fairrun/stats/words"
)

func TestCount(t *testing.T) {
	for _, c := range []struct {
		n          int
		noun, want string
	}{
		{1, "pack", "1 pack"}, {4, "pack", "4 packs"}, {0, "run", "0 runs"}, {2, "battery", "2 batteries"}, {1, "battery", "1 battery"},
	} {
		if got := words.Count(c.n, c.noun); got != c.want {
			t.Errorf("Count(%d, %q) = %q, want %q", c.n, c.noun, got, c.want)
		}
	}
}

func TestPlural(t *testing.T) {
	for noun, want := range map[string]string{"pack": "packs", "battery": "batteries", "day": "days", "box": "boxes", "batch": "batches", "Pass": "Passes", "y": "ys"} {
		if got := words.Plural(noun); got != want {
			t.Errorf("Plural(%q) = %q, want %q", noun, got, want)
		}
	}
}

func TestTimes(t *testing.T) {
	for n, want := range map[int]string{0: "0 times", 1: "once", 2: "twice", 3: "3 times"} {
		if got := words.Times(n); got != want {
			t.Errorf("Times(%d) = %q, want %q", n, got, want)
		}
	}
}

func TestDegrees(t *testing.T) {
	for df, want := range map[string]string{"1": "1 degree of freedom", "1.5": "1.5 degrees of freedom", "20": "20 degrees of freedom"} {
		if got := words.Degrees(df); got != want {
			t.Errorf("Degrees(%s) = %q, want %q", df, got, want)
		}
	}
}

func TestLists(t *testing.T) {
	for _, c := range []struct {
		names               string
		and, listed, quoted string
	}{
		{"", "", "", ""},
		{"a", "a", "a", `"a"`},
		{"a b", "a and b", "a, b", `"a", "b"`},
		{"a b c", "a, b and c", "a, b and 1 more", `"a", "b" and 1 more`},
	} {
		names := strings.Fields(c.names)
		if got := words.And(names); got != c.and {
			t.Errorf("And(%v) = %q, want %q", names, got, c.and)
		}
		if got := words.List(names, 2); got != c.listed {
			t.Errorf("List(%v) = %q, want %q", names, got, c.listed)
		}
		if got := words.List(words.Quoted(append(names, "")), 2); got != c.quoted {
			t.Errorf("List(Quoted(%v)) = %q, want %q", names, got, c.quoted)
		}
	}
	if got, want := words.And(words.Numbers([]int{3, 12, 7})), "3, 12 and 7"; got != want {
		t.Errorf("And(Numbers) = %q, want %q", got, want)
	}
}

func TestNearest(t *testing.T) {
	keys := []string{"name", "count", "replicates", "runs", "better", "baseline", "best", "lower", "higher"}
	columns := []string{"", "spin_up", "bollard_pull", "status", "note"}
	for _, c := range []struct {
		found string
		among []string
		want  string
	}{
		{"repliactes", keys, "replicates"}, // two letters exchanged
		{"replicate", keys, "replicates"},
		{"Runs", keys, "runs"},
		{"rnus", keys, "runs"},
		{"nmae", keys, "name"},
		{"low", keys, "lower"},
		{"base", keys, "baseline"},
		{"bettter", keys, "better"},
		{"simulation", keys, ""},
		{"", keys, ""},
		{"x", keys, ""},
		{strings.Repeat("replicates", 1000), keys, ""},
		{"spinup", columns, "spin_up"},
		{"Spin up", columns, "spin_up"},
		{"sipn_up", columns, "spin_up"},
		{"bolard_pul", columns, "bollard_pull"},
		{"notes", columns, "note"},
		{"thrust", columns, ""},
		{"", columns, ""},
		{"x", []string{"y", "xx"}, ""}, // one letter says too little
		{"x", []string{"X"}, "X"},
		{"log", []string{"logbook of the day"}, ""},
	} {
		if got := words.Nearest(c.found, c.among); got != c.want {
			t.Errorf("Nearest(%.20q) = %q, want %q", c.found, got, c.want)
		}
	}
}
