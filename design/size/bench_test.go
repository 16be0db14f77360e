package size

import (
	"testing"

	"fairrun/design/internal/campaigntest"
)

// BenchmarkReplicates is "replicates" after results on the same campaign.
func BenchmarkReplicates(b *testing.B) {
	s := campaigntest.Sixty(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := (Ask{}).After(b.Context(), s); err != nil {
			b.Fatal(err)
		}
	}
}
