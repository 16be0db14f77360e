package design

import (
	"math/big"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestNearest(t *testing.T) {
	keys := []string{"name", "count", "replicates", "runs", "better", "baseline", "best", "lower", "higher"}
	for _, c := range []struct{ found, want string }{
		{"repliactes", "replicates"}, // two letters exchanged
		{"replicate", "replicates"},
		{"Runs", "runs"},
		{"rnus", "runs"},
		{"nmae", "name"},
		{"low", "lower"},
		{"base", "baseline"},
		{"bettter", "better"},
		{"simulation", ""},
		{"", ""},
		{"x", ""},
		{strings.Repeat("replicates", 1000), ""},
	} {
		if got := nearest(c.found, keys); got != c.want {
			t.Errorf("nearest(%.20q) = %q, want %q", c.found, got, c.want)
		}
	}
}

// Distances counted by hand.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"abc", "abc", 0}, {"abc", "abd", 1}, {"abc", "ac", 1}, {"ab", "ba", 1},
		{"kitten", "sitting", 3}, {"ca", "abc", 3}, {"µm", "mm", 1},
	} {
		if got := distance(c.a, c.b); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if got := distance(c.b, c.a); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.b, c.a, got, c.want)
		}
	}
}

func TestPlural(t *testing.T) {
	for noun, want := range map[string]string{"pack": "packs", "battery": "batteries", "day": "days", "box": "boxes", "batch": "batches", "Pass": "Passes", "y": "ys"} {
		if got := plural(noun); got != want {
			t.Errorf("plural(%q) = %q, want %q", noun, got, want)
		}
	}
}

// A percentage is the float64 nearest to its decimal value, and prints back as it was written.
func TestPercentIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`(0|[1-9][0-9]{0,3})(\.[0-9]{0,6}[1-9])?`).Draw(t, "text")
		got, ok := parsePercent(text + "%")
		if !ok {
			t.Fatalf("parsePercent(%q) refused", text+"%")
		}
		exact, _ := new(big.Rat).SetString(text)
		want, _ := exact.Quo(exact, big.NewRat(100, 1)).Float64()
		if got != want {
			t.Fatalf("parsePercent(%q) = %v, want %v", text+"%", got, want)
		}
		if got > 0 && percent(got) != text+"%" {
			t.Fatalf("percent(%v) = %q, want %q", got, percent(got), text+"%")
		}
	})
	for _, text := range []string{"%", "2", "2 %%", "abc", "1,5%", "1e1%", "+2%", ".5%", "5.%", " 2%", "--2%", "2% ", "٢%"} {
		if x, ok := parsePercent(text); ok {
			t.Errorf("parsePercent(%q) = %v, want none", text, x)
		}
	}
}

func TestParseDuration(t *testing.T) {
	for _, c := range []struct {
		text string
		want time.Duration // 0: refused
	}{
		{"40 s", 40 * time.Second}, {"40s", 40 * time.Second}, {"1.5 h", 90 * time.Minute}, {"1 min 30 s", 90 * time.Second},
		{"1h2min3.25s", time.Hour + 2*time.Minute + 3250*time.Millisecond}, {"0.1 s", 100 * time.Millisecond},
		{"", 0}, {"40", 0}, {"s", 0}, {"40 m", 0}, {"40 sec", 0}, {"-1 s", 0}, {"1 s 2 s", 0}, {"1 s 2 h", 0}, {"1,5 h", 0},
		{"0 s", 0}, {"0.0001 s", 0}, {"1e3 s", 0}, {"999999999999 h", 0}, {"1 min 30", 0}, {"40 s ", 40 * time.Second},
	} {
		got, ok := parseDuration(c.text)
		if ok != (c.want != 0) || got != c.want && ok {
			t.Errorf("parseDuration(%q) = %v, %v; want %v", c.text, got, ok, c.want)
		}
	}
}
