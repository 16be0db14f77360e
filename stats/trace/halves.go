package trace

import "math"

const (
	whiteF       = 1.5  // above it, rows are dealt out in blocks
	blockedU     = 1.7  // what blocks cost in uncertainty
	plateauU     = 1.12 // likewise single rows, where a plateau leaves the place open
	notable      = 0.01 // of a slope: below it, correlated noise does not choose the window
	blockedRows  = 12   // times F: rows that a window needs to be cut into blocks
	halfRows     = 3    // rows of each half in a window
	humpShare    = 0.22
	humpNoises   = 4.5
	humpAverages = 5
)

// halves deals out rows into two sets, in turn, or block by block where noise is
// correlated: what is found on one set is read on the other, so that noise cannot
// choose its own peak.
type halves struct {
	t, v [2][]float64
	size int // rows of a block
}

func dealt(t, v []float64, f float64) halves {
	h := halves{size: 1}
	if f > whiteF {
		h.size = int(math.Ceil(2 * f))
	}
	for i := range t {
		k := i / h.size % 2
		h.t[k] = append(h.t[k], t[i])
		h.v[k] = append(h.v[k], v[i])
	}
	return h
}
