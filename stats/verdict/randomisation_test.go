package verdict

import (
	"strings"
	"testing"
)

// What is said when the orders and the model disagree, and when they do not.
func TestRandomisationInWords(t *testing.T) {
	for _, c := range []struct {
		name    string
		plots   bool
		model   Number // p of the F test
		lot     Randomised
		differ  []string
		between int
		flag    bool
		says    []string
		silent  string
	}{
		{"agree", false, 0.00001, Randomised{Orders: 10_000, P: 1.0 / 10_001}, nil, 0, false,
			[]string{"over 10000 orders drawn afresh the same differences are clear of zero (p < 0.0001 for all"}, "steps"},
		{"few orders", false, 0.004, Randomised{Orders: 24, Exact: true, P: 1.0 / 24}, nil, 0, false,
			[]string{"all 24 orders", "(p = 0.042 for all", "p takes steps of 1/24"}, "near thing"},
		{"one differs", false, 0.004, Randomised{Orders: 999, P: 0.006}, []string{"B against A"}, 0, true,
			[]string{"B against A is called differently", "a near thing"}, "whole plots"},
		{"between whole plots", true, 0.004, Randomised{Orders: 999, P: 0.006}, []string{"q against p"}, 1, false,
			[]string{"between whole plots, q against p is called differently: real by the model alone"}, "near thing"},
		{"within whole plots too", true, 0.004, Randomised{Orders: 999, P: 0.006}, []string{"q against p", "B against A"}, 1, true,
			[]string{"q against p, B against A are called differently", "few whole plots can be set in few ways"}, "leans on the draw alone"},
		{"all together", true, 0.004, Randomised{Orders: 999, P: 0.125}, nil, 0, true,
			[]string{"the F test calls the treatments different (p = 0.0040), the randomisation test", "does not (p = 0.125)"}, "leans on the draw alone"},
	} {
		t.Run(c.name, func(t *testing.T) {
			said, _ := concord{test: c.lot, alpha: 0.05, model: c.model, differ: c.differ, between: c.between, plots: c.plots}.words()
			if said.Flag != c.flag {
				t.Fatalf("%+v, want flag %v", said, c.flag)
			}
			for _, want := range c.says {
				if !strings.Contains(said.Message, want) {
					t.Errorf("%q does not say %q", said.Message, want)
				}
			}
			if strings.Contains(said.Message, c.silent) {
				t.Errorf("%q says %q", said.Message, c.silent)
			}
		})
	}
}
