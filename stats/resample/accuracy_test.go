package resample

import (
	"testing"

	"fairrun/stats/internal/accuracy"
)

// page is this package's section of docs/accuracy.md.
var page = accuracy.Section{Package: "stats/resample"}

// TestAccuracy measures the digits that docs/accuracy.md states.
func TestAccuracy(t *testing.T) {
	t.Run("exact", accuracyExact)
	t.Run("Darwin", accuracyDarwin)
	t.Run("tomatoes", accuracyTomatoes)
	page.Check(t)
}
