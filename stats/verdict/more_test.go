package verdict

import "testing"

// The number grows with the standard error, so that what two need in common the ones
// between them need, too; beyond them nothing is known.
func TestBracketedAnswers(t *testing.T) {
	answers := []told{{1, 4}, {2, 6}, {3, 6}, {5, 0}}
	for _, tt := range []struct {
		se    float64
		n     int
		known bool
	}{{0.5, 0, false}, {1, 4, true}, {1.5, 0, false}, {2, 6, true}, {2.5, 6, true}, {3, 6, true}, {3 * (1 + 1e-9), 6, true}, {4, 0, false}, {5, 0, true}, {6, 0, false}} {
		if n, known := bracketed(answers, tt.se); n != tt.n || known != tt.known {
			t.Errorf("standard error %v: %d, known %v; want %d, %v", tt.se, n, known, tt.n, tt.known)
		}
	}
}
