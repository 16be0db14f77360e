package mixed

import (
	"math"

	"fairrun/stats/linmod"
)

// Meeting says how the levels of a treatment lie in those of a random factor.
type Meeting int

const (
	PartlyWithin   Meeting = iota // some levels hold some treatments
	ConstantWithin                // each level holds one treatment: their differences are part of a comparison's noise
	CompleteWithin                // each level holds all: its own mean cancels in a comparison
)

// Meet says how the levels of a treatment lie in those of a random factor.
func Meet(g, t *linmod.Factor, y []float64) Meeting {
	held := make([][]bool, len(g.Levels))
	for i, v := range y {
		if math.IsNaN(v) || g.Code[i] < 0 || t.Code[i] < 0 {
			continue
		}
		if held[g.Code[i]] == nil {
			held[g.Code[i]] = make([]bool, len(t.Levels))
		}
		held[g.Code[i]][t.Code[i]] = true
	}
	constant, complete, levels := true, true, Used(t, y)
	for _, h := range held {
		n := 0
		for _, in := range h {
			if in {
				n++
			}
		}
		if h != nil {
			constant, complete = constant && n == 1, complete && n == levels
		}
	}
	switch {
	case constant:
		return ConstantWithin
	case complete:
		return CompleteWithin
	}
	return PartlyWithin
}

// Used counts the levels of a factor that have a good run.
func Used(f *linmod.Factor, y []float64) int {
	seen := make([]bool, len(f.Levels))
	n := 0
	for i, v := range y {
		if c := f.Code[i]; !math.IsNaN(v) && c >= 0 && !seen[c] {
			seen[c] = true
			n++
		}
	}
	return n
}
