package design_test

import (
	"maps"
	"testing"

	"fairrun/design"
)

// Blocks are counted by their regular plural, or by that of the plan; other names keep the regular one.
func TestPlurals(t *testing.T) {
	for _, c := range []struct {
		name, several, one, two, plural string
	}{
		{"battery", "", "1 battery", "2 batteries", "batteries"},
		{"mouse", "mice", "1 mouse", "2 mice", "mice"},
	} {
		p := &design.Plan{Block: design.Block{Name: c.name, Several: c.several}}
		if one, two := p.Block.Many(1), p.Block.Many(2); one != c.one || two != c.two {
			t.Errorf("%s: %q and %q, want %q and %q", c.name, one, two, c.one, c.two)
		}
		if got, motors := p.PluralOf(c.name), p.PluralOf("motor"); got != c.plural || motors != "motors" {
			t.Errorf("%s: several are %q and %q, want %q and motors", c.name, got, motors, c.plural)
		}
		want := map[string]string{}
		if c.several != "" {
			want[c.name] = c.several
		}
		if got := p.Plurals(); !maps.Equal(got, want) {
			t.Errorf("%s: plurals %v, want %v", c.name, got, want)
		}
	}
}
