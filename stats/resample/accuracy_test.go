package resample

import (
	"testing"

	"fairrun/stats/internal/accuracy"
)

// TestAccuracy measures the digits that docs/accuracy.md states.
func TestAccuracy(t *testing.T) {
	page := &accuracy.Section{Package: "stats/resample"}
	t.Run("exact", func(t *testing.T) { accuracyExact(t, page) })
	t.Run("Darwin", func(t *testing.T) { accuracyDarwin(t, page) })
	t.Run("tomatoes", func(t *testing.T) { accuracyTomatoes(t, page) })
	page.Check(t)
}
