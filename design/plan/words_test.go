package plan

import (
	"fairrun/design"
	"math/big"
	"testing"
	"time"

	"pgregory.net/rapid"
)

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
		if back := (design.Amount{Set: true, Value: got, Relative: true}).String(); got > 0 && back != text+"%" {
			t.Fatalf("the amount %v is %q, want %q", got, back, text+"%")
		}
	})
	for _, text := range []string{"%", "2", "2 %%", "abc", "1,5%", "1e1%", "+2%", ".5%", "5.%", " 2%", "--2%", "2% ", "٢%"} {
		if x, ok := parsePercent(text); ok {
			t.Errorf("parsePercent(%q) = %v, want none", text, x)
		}
	}
}

func TestParseAmount(t *testing.T) {
	for _, c := range []struct {
		text     string
		x        float64
		relative bool
		ok       bool
	}{
		{"2%", 0.02, true, true}, {" 1.5 % ", 0.015, true, true}, {"-2%", -0.02, true, true}, {"0%", 0, true, true},
		{"0.5", 0.5, false, true}, {" 1e-3", 1e-3, false, true}, {"-1", -1, false, true},
		{"", 0, false, false}, {"%", 0, false, false}, {"some", 0, false, false}, {"NaN", 0, false, false}, {"Inf", 0, false, false}, {"1e999", 0, false, false}, {"2 V", 0, false, false},
	} {
		if x, relative, ok := ParseAmount(c.text); ok != c.ok || ok && (x != c.x || relative != c.relative) {
			t.Errorf("ParseAmount(%q) = %v, %v, %v, want %v, %v, %v", c.text, x, relative, ok, c.x, c.relative, c.ok)
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
