package analysis

import (
	"testing"

	"fairrun/design/internal/campaigntest"
)

// BenchmarkCampaign is "verdict" on 60 runs and 4 responses without the start
// of the process. What is promised is 150 ms.
func BenchmarkCampaign(b *testing.B) {
	s := campaigntest.Sixty(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Verdict(b.Context(), s); err != nil {
			b.Fatal(err)
		}
	}
}
