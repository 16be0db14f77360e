package compare

import (
	"math"
	"testing"
)

func TestTerms(t *testing.T) {
	for _, c := range []struct {
		log, relative bool
		want          Terms
		margin        float64 // of 0.02
	}{
		{false, false, InUnits, 0.02},
		{false, true, InPercent, 2},
		{true, true, InLogs, math.Log(1.02)},
		{true, false, InLogs, math.Log(1.02)},
	} {
		got := TermsOf(c.log, c.relative)
		if got != c.want {
			t.Errorf("TermsOf(%v, %v) = %v, want %v", c.log, c.relative, got, c.want)
		}
		m := got.Margin(0.02)
		near(t, "margin", m, c.margin, 1e-15)
		near(t, "as stated", got.Stated(m), 0.02, 1e-15)
	}
}
