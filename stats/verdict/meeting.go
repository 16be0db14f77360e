package verdict

import (
	"math"

	"fairrun/stats/linmod"
)

// meeting says how the levels of a treatment lie in those of a random factor.
type meeting int

const (
	partlyWithin   meeting = iota // some levels hold some treatments
	constantWithin                // each level holds one treatment: their differences are part of a comparison's noise
	completeWithin                // each level holds all: its own mean cancels in a comparison
)

// meet says how the levels of a treatment lie in those of a random factor.
func meet(g, t *linmod.Factor, y []float64) meeting {
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
	constant, complete, levels := true, true, used(t, y)
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
		return constantWithin
	case complete:
		return completeWithin
	}
	return partlyWithin
}

// used counts the levels of a factor that have a good run.
func used(f *linmod.Factor, y []float64) int {
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
