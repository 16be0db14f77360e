package design_test

import (
	"testing"

	"fairrun/design"

	"github.com/google/go-cmp/cmp"
)

func TestFullFactorial(t *testing.T) {
	c := &design.Plan{Factors: []design.Factor{{Name: "a", Levels: []string{"0", "1"}}, {Name: "b", Levels: []string{"x", "y"}}}}
	if !c.FullFactorial() {
		t.Error("all combinations are not a full factorial")
	}
	c.Chosen = [][]string{{"1", "x"}, {"0", "x"}, {"0", "y"}}
	if c.FullFactorial() {
		t.Error("three of four combinations are a full factorial")
	}
	c.Chosen = append(c.Chosen, []string{"1", "y"})
	if !c.FullFactorial() {
		t.Error("four of four combinations are no full factorial")
	}
	got := c.Treatments()
	got[0].Levels[0] = "changed"
	if c.Chosen[0][0] != "1" {
		t.Error("a change to Treatments reached the plan")
	}
	if diff := cmp.Diff("0 x", c.Treatments()[1].String()); diff != "" {
		t.Errorf("chosen treatments lost their order: %s", diff)
	}
}
