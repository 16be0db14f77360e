package compare

import "testing"

// counted counts how often it is asked.
type counted struct{ asked *int }

func (c counted) Critical(alpha, df float64) float64 { *c.asked++; return alpha * df }
func (c counted) Adjust(t, df float64) float64       { return t + df }

func TestKeep(t *testing.T) {
	asked := 0
	f := Keep(counted{&asked})
	for range 3 {
		if got := f.Critical(0.5, 8); got != 4 {
			t.Errorf("Critical(0.5, 8) = %v, want 4", got)
		}
		if got := f.Critical(0.25, 8); got != 2 {
			t.Errorf("Critical(0.25, 8) = %v, want 2", got)
		}
	}
	if asked != 2 {
		t.Errorf("asked %d times, want 2", asked)
	}
	if got := f.Adjust(1, 8); got != 9 {
		t.Errorf("Adjust(1, 8) = %v, want 9", got)
	}
}
