package linmod

import (
	"testing"

	"fairrun/stats/internal/accuracy"
)

// page is this package's section of docs/accuracy.md.
var page = accuracy.Section{Package: "stats/linmod"}

const (
	onR = "invented designs, with gaps and aliased terms"
	byR = "R (lm, emmeans)"
)

// TestAccuracy holds fits against R's and the digits they reach against
// docs/accuracy.md. F on NIST's sets stands with whole verdicts.
func TestAccuracy(t *testing.T) {
	t.Run("R", againstR)
	page.Check(t)
}
