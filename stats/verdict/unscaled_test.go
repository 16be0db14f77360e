package verdict

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"fairrun/stats/decimal"
)

// A value that is no ratio takes the verdict from its response only, and every run that holds one is
// named. A run that does not count is not to blame.
func TestNoRatio(t *testing.T) {
	values := func(texts ...string) *decimal.Column {
		var y decimal.Column
		for _, v := range texts {
			if err := y.Append([]byte(v)); err != nil {
				t.Fatal(err)
			}
		}
		return &y
	}
	d, _ := noted(1, 2, 3, 1, 2, 3)
	d.Noted = nil
	d.Status = []Status{OK, OK, OK, OK, OK, Void}
	d.Name = func(row int) string { return fmt.Sprintf("run %d", row+1) }
	margin := &Margin{Value: 0.02, Relative: true}
	d.Responses = []Measured{
		{Name: "pull", Margin: margin, Scale: Log, Values: values("10.1", "0", "10.2", "-12", "12.5", "-1")},
		{Name: "input", Margin: margin, Scale: Log, Values: values("10.1", "10.4", "10.2", "12.0", "12.5", "-1")},
		{Name: "thrust", Margin: margin, Scale: Raw, Values: values("10.1", "0", "10.2", "-12", "12.5", "-1")},
	}
	v, err := Analyse(context.Background(), d, Request{})
	if err != nil {
		t.Fatal(err)
	}
	r := v.Responses[0]
	const blamed = "run 2 holds 0, run 4 holds -12; a relative margin compares ratios, which need values above zero"
	if !strings.HasPrefix(r.Unscaled(), blamed) || len(r.Comparisons) != 0 || r.Noise.SD.Known() {
		t.Errorf("%q, comparisons %v, noise %v", r.Unscaled(), r.Comparisons, r.Noise)
	}
	if r.Runs != (Runs{OK: 5, Void: 1}) || len(r.Failures) != 2 || r.Failures[0].Runs != 3 || r.Failures[1].Runs != 2 {
		t.Errorf("runs %+v, failures %+v", r.Runs, r.Failures)
	}
	for _, other := range v.Responses[1:] {
		if other.Unscaled() != "" || len(other.Comparisons) != 1 || !other.Noise.SD.Known() {
			t.Errorf("%s: %q, comparisons %v", other.Name, other.Unscaled(), other.Comparisons)
		}
	}

	d.Responses = d.Responses[:1]
	_, err = Analyse(context.Background(), d, Request{})
	if refused := (*RequestError)(nil); !errors.As(err, &refused) || err.Error() != "response pull: "+blamed+": give an absolute margin, or use the raw scale" {
		t.Errorf("error %v", err)
	}

	// No more are named than can be looked up.
	d.Responses = []Measured{
		{Name: "pull", Margin: margin, Scale: Log, Values: values("0", "0", "0", "0", "0", "1")},
		{Name: "input", Margin: margin, Scale: Log, Values: values("1", "2", "3", "4", "5", "6")},
	}
	d.Status = nil
	v, err = Analyse(context.Background(), d, Request{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := v.Responses[0].Unscaled(), "run 1 holds 0, run 2 holds 0, run 3 holds 0, run 4 holds 0, run 5 holds 0; "; !strings.HasPrefix(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	d.Responses[0].Values = values("0", "0", "0", "0", "0", "0")
	if v, err = Analyse(context.Background(), d, Request{}); err != nil {
		t.Fatal(err)
	}
	if got, want := v.Responses[0].Unscaled(), "run 5 holds 0 and 1 run more; "; !strings.Contains(got, want) {
		t.Errorf("%q, want %q in it", got, want)
	}
}
