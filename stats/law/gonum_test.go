package law

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// TestGonumTails measures gonum's tails on the same values as ours: it is the reason
// for having our own. It fails if gonum comes to be as good.
func TestGonumTails(t *testing.T) {
	var f, fAsBeta, chi worst
	for _, r := range grid(t, "f.csv") {
		d1, d2, x := r[0], r[1], r[2]
		f.add(distuv.F{D1: d1, D2: d2}.Survival(x), r[4], r...)
		if y := d2 / (d1*x + d2); y < 1 {
			fAsBeta.add(mathext.RegIncBeta(d2/2, d1/2, y), r[4], r...)
		}
	}
	for _, r := range grid(t, "chisquared.csv") {
		chi.add(mathext.GammaIncRegComp(r[0]/2, r[1]/2), r[3], r...)
	}
	for _, c := range []struct {
		name string
		w    worst
	}{{"distuv.F.Survival", f}, {"mathext.RegIncBeta", fAsBeta}, {"mathext.GammaIncRegComp", chi}} {
		t.Logf("%s: worst relative error %.1e at %v", c.name, c.w.err, c.w.at)
		if c.w.err < 3e-13 || math.IsNaN(c.w.err) {
			t.Errorf("%s is accurate to %.1e by now", c.name, c.w.err)
		}
	}
}
