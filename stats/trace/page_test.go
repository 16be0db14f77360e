package trace

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const page = "../../docs/measures.md"

// within holds an outcome to the figures of the study: bias and spread no larger, coverage
// no lower, but for what so many logs leave to chance.
func (o outcome) within(want figures) error {
	n := float64(o.logs - o.refused)
	if bias := math.Abs(o.bias) - 3.5*o.sd/math.Sqrt(n); bias > math.Abs(want.bias)*1.3+0.05 {
		return fmt.Errorf("bias %.3g %%, want at most %.3g", o.bias, want.bias)
	}
	if want.sd != none && o.sd*(1-3.5/math.Sqrt(2*n)) > want.sd*1.1+0.03 {
		return fmt.Errorf("standard deviation %.3g %%, want at most %.3g", o.sd, want.sd)
	}
	if least := min(want.cover, 95); o.coverage < least-2-3.5*math.Sqrt(least*(100-least)/n) {
		return fmt.Errorf("intervals cover %.1f %%, want %.3g", o.coverage, want.cover)
	}
	return nil
}

// run measures so many logs of a case and holds it to its figures.
func (c simulated) run(t *testing.T, logs int) outcome {
	t.Helper()
	o := simulate(logs, 14, c.truth, c.measure)
	share := float64(o.refused) / float64(logs)
	switch {
	case c.refused && o.refused < logs:
		t.Errorf("%s: %d of %d logs were measured, all are to be refused", c.name, logs-o.refused, logs)
	case !c.refused && share > c.partly:
		t.Errorf("%s: %d of %d logs refused: %s", c.name, o.refused, logs, o.reason)
	case !c.refused:
		if err := o.within(c.want); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	return o
}

// TestSimulated measures a few logs of each case; the slow study measures many and
// holds docs/measures.md to what it finds.
func TestSimulated(t *testing.T) {
	text, err := os.ReadFile(filepath.FromSlash(page))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cases() {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.run(t, logsFast)
			if !strings.Contains(string(text), "\n| "+c.name+" |") {
				t.Errorf("docs/measures.md has no row %q: UPDATE_DOCS=1 go test -tags slow ./stats/trace -run Simulated", c.name)
			}
		})
	}
}
