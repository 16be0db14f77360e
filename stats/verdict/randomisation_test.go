package verdict

import (
	"strings"
	"testing"

	"fairrun/stats/resample"
)

// What is said when the orders and the model disagree, and when they do not.
func TestRandomisationInWords(t *testing.T) {
	whole := resample.Design{Plots: []int32{0, 0, 1, 1}}
	for _, c := range []struct {
		name    string
		design  resample.Design
		model   Number // p of the F test
		lot     Randomised
		differ  []string
		between int
		flag    bool
		says    []string
		silent  string
	}{
		{"agree", resample.Design{}, 0.00001, Randomised{Draws: 10_000, P: 1.0 / 10_001}, nil, 0, false,
			[]string{"over 10000 orders drawn afresh the same differences are clear of zero (p < 0.0001 for all"}, "steps"},
		{"few orders", resample.Design{}, 0.004, Randomised{Draws: 24, Exact: true, P: 1.0 / 24}, nil, 0, false,
			[]string{"all 24 orders", "(p = 0.042 for all", "p takes steps of 1/24"}, "near thing"},
		{"one differs", resample.Design{}, 0.004, Randomised{Draws: 999, P: 0.006}, []string{"B against A"}, 0, true,
			[]string{"B against A is called differently", "a near thing"}, "whole plots"},
		{"between whole plots", whole, 0.004, Randomised{Draws: 999, P: 0.006}, []string{"q against p"}, 1, false,
			[]string{"between whole plots, q against p is called differently: real by the model alone"}, "near thing"},
		{"within whole plots too", whole, 0.004, Randomised{Draws: 999, P: 0.006}, []string{"q against p", "B against A"}, 1, true,
			[]string{"q against p, B against A are called differently", "few whole plots can be set in few ways"}, "leans on the draw alone"},
		{"all together", whole, 0.004, Randomised{Draws: 999, P: 0.125}, nil, 0, true,
			[]string{"the F test calls the treatments different (p = 0.0040), the randomisation test", "does not (p = 0.125)"}, "leans on the draw alone"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &subject{}
			s.q.Alpha = 0.05
			s.out.Overall.P, s.out.Randomise = c.model, &c.lot
			(&trial{s: s, design: c.design}).agree(c.differ, c.between)
			if len(s.out.Checks) != 1 || s.out.Checks[0].Flag != c.flag {
				t.Fatalf("checks %+v, want one with flag %v", s.out.Checks, c.flag)
			}
			for _, want := range c.says {
				if !strings.Contains(s.out.Checks[0].Message, want) {
					t.Errorf("%q does not say %q", s.out.Checks[0].Message, want)
				}
			}
			if strings.Contains(s.out.Checks[0].Message, c.silent) {
				t.Errorf("%q says %q", s.out.Checks[0].Message, c.silent)
			}
		})
	}
}
