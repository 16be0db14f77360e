package linmod

import (
	"testing"

	"fairrun/stats/internal/accuracy"
)

const (
	onR = "invented designs, with gaps and aliased terms"
	byR = "R (lm, emmeans)"
)

// TestAccuracy compares fits with R's and the digits they reach with
// docs/accuracy.md. F on NIST's sets stands with whole verdicts.
func TestAccuracy(t *testing.T) {
	page := &accuracy.Section{Package: "stats/linmod"}
	t.Run("R", func(t *testing.T) { againstR(t, page) })
	page.Check(t)
}
