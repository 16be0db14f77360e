package fault

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// One line a fault, for a text with lines, a table with rows, and neither.
func TestFaultError(t *testing.T) {
	for _, c := range []struct {
		fault Fault
		want  string
	}{
		{Fault{File: "campaign.toml", Line: 12, Column: 10, Found: `better is "low"`, Do: "write lower"}, `campaign.toml:12:10: better is "low"; write lower`},
		{Fault{Line: 12, Column: 10, Found: `better is "low"`, Do: "write lower"}, `line 12, column 10: better is "low"; write lower`},
		{Fault{File: "campaign.toml", Found: "the file is empty", Do: "write it"}, "campaign.toml: the file is empty; write it"},
		{Fault{Found: "title is empty", Do: "fill it in"}, "title is empty; fill it in"},
		{Fault{File: "tank.csv", Row: 5, Line: 7, Column: 9, Name: "spin_up", Found: `"fast" is not a number`}, `tank.csv: row 5 (line 7), column 9 "spin_up": "fast" is not a number`},
		{Fault{File: "tank.csv", Row: 5, Line: 5, Found: "the row is empty"}, "tank.csv: row 5: the row is empty"},
		{Fault{File: "tank.csv", Column: 2, Found: "it stands twice"}, "tank.csv: column 2: it stands twice"},
	} {
		if got := c.fault.Error(); got != c.want {
			t.Errorf("%#v:\n%s\nwant\n%s", c.fault, got, c.want)
		}
	}
}

// Faults are found in lists, in joined errors and behind other errors, in their order; nothing else is one.
func TestIn(t *testing.T) {
	a, b := Fault{File: "x", Found: "a"}, Fault{File: "x", Found: "b"}
	for _, c := range []struct {
		err  error
		want string
	}{
		{nil, ""}, {errors.New("c"), ""}, {&a, "a"}, {List{a, b}, "ab"}, {errors.Join(&b, &a), "ba"},
		{errors.Join(fmt.Errorf("reading: %w", &a), errors.New("c"), List{b}), "ab"},
	} {
		var got strings.Builder
		for _, f := range In(c.err) {
			got.WriteString(f.Found)
		}
		if got.String() != c.want {
			t.Errorf("In(%v) finds %q, want %q", c.err, got.String(), c.want)
		}
	}
}
