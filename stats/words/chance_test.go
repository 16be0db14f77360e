package words

import "testing"

func TestP(t *testing.T) {
	for _, c := range []struct {
		p    float64
		want string
	}{{1, "p = 1.000"}, {0.0299, "p = 0.030"}, {0.01, "p = 0.010"}, {0.00999, "p = 0.0100"}, {0.0001, "p = 0.0001"}, {0.0000999, "p < 0.0001"}, {0, "p < 0.0001"}} {
		if got := P(c.p); got != c.want {
			t.Errorf("P(%g) = %q, want %q", c.p, got, c.want)
		}
	}
}
