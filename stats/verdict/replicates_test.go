package verdict

import "testing"

// The number grows with the standard error, so that what two need in common the ones
// between them need, too; beyond them nothing is known.
func TestBracketedAnswers(t *testing.T) {
	answers := []replicatesAt{{1, 4}, {2, 6}, {3, 6}, {5, 0}}
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

// What averages out a nested factor is another of its levels.
func TestAnotherLevelOfNestedFactor(t *testing.T) {
	for _, tt := range []struct{ name, item, want string }{
		{"Variety × Block", "Variety × Block", "1 more level of Variety × Block"},
		{"pack within motor", "pack within motor", "1 more pack within motor"},
		{"whole plot", "whole plot", "1 more whole plot of each setting"},
		{"motor × controller", "motor", "1 more motor"},
	} {
		p := DifferencePart{Name: tt.name, Item: tt.item}
		if got := p.another(); got != tt.want {
			t.Errorf("another %s: %q, want %q", tt.name, got, tt.want)
		}
	}
	if got := (&Data{}).several("Variety × Block"); got != "levels of Variety × Block" {
		t.Errorf("several: %q", got)
	}
	if got := (&Data{Plurals: map[string]string{"mouse": "mice"}}).several("mouse within rig"); got != "mice within rig" {
		t.Errorf("several are %q", got)
	}
	if got := (&Data{}).several("battery within motor"); got != "batteries within motor" {
		t.Errorf("several: %q", got)
	}
	for _, tt := range []struct{ name, item string }{{"pack × prop", "pack"}, {"prop within pack", "pack"}, {"whole plot", "whole plot"}} {
		if got := without(tt.name, "prop"); got != tt.item {
			t.Errorf("%s without prop: %q, want %q", tt.name, got, tt.item)
		}
	}
}
