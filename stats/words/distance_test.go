package words

import "testing"

// Distances counted by hand.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"abc", "abc", 0}, {"abc", "abd", 1}, {"abc", "ac", 1}, {"ab", "ba", 1},
		{"kitten", "sitting", 3}, {"ca", "abc", 3}, {"µm", "mm", 1},
	} {
		if got := distance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if got := distance([]rune(c.b), []rune(c.a)); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.b, c.a, got, c.want)
		}
	}
}
