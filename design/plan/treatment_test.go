package plan_test

import (
	"fmt"
	"strings"
	"testing"

	"fairrun/design/plan"

	"pgregory.net/rapid"
)

func ExamplePlan_Treatments() {
	c, err := plan.Parse("campaign.toml", []byte(`
		title = "Weakening and propellers"
		scope = "pod thruster no. 3"
		[[factor]]
		name = "weakening"
		levels = [0, 7.50]
		[[factor]]
		name = "prop"
		levels = ["A", "B", "C"]
		[block]
		name = "pack"
		count = 4
		replicates = 1
		[[response]]
		name = "spin_up"
		better = "lower"
	`))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range c.Treatments() {
		fmt.Println(t)
	}
	fmt.Println(c.Runs(), "runs,", c.RunsPerBlock(), "in each", c.Block.Name)
	fmt.Printf("%+v\n", c.Freedom())
	// Output:
	// 0 A
	// 0 B
	// 0 C
	// 7.50 A
	// 7.50 B
	// 7.50 C
	// 24 runs, 6 in each pack
	// {Runs:24 Blocks:4 Drift:1 Covariates:0 CarryOver:0 Treatments:5 Residual:14}
}

// The main effects of two factors can be distinguished exactly when the graph whose nodes are the
// levels and whose edges are the treatments is connected: a known result for two-way layouts
// without interaction. The walk through the graph knows nothing of the elimination it checks.
func TestSeparableIsConnected(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, columns := rapid.IntRange(2, 5).Draw(t, "rows"), rapid.IntRange(2, 5).Draw(t, "columns")
		cells := rapid.SliceOfNDistinct(rapid.IntRange(0, rows*columns-1), 2, -1, rapid.ID[int]).Draw(t, "cells")
		seen := map[int]bool{}
		var list []string
		for _, cell := range cells {
			seen[cell/columns], seen[100+cell%columns] = true, true
			list = append(list, fmt.Sprintf("{a = %d, b = %d}", cell/columns, cell%columns))
		}
		if len(seen) < rows+columns {
			t.Skip("a level that no treatment has is another fault")
		}
		linked := map[int]bool{cells[0] / columns: true}
		for range rows + columns {
			for _, cell := range cells {
				if linked[cell/columns] || linked[100+cell%columns] {
					linked[cell/columns], linked[100+cell%columns] = true, true
				}
			}
		}
		connected := len(linked) == rows+columns
		text, _ := assemble(map[string]string{
			"head": sound["head"] + "interactions = false\ntreatments = [" + strings.Join(list, ", ") + "]\n",
			"factor": "[[factor]]\nname = \"a\"\nlevels = [" + numbers(rows) + "]\n" +
				"[[factor]]\nname = \"b\"\nlevels = [" + numbers(columns) + "]\n",
			"block": "[block]\ncount = 4\nreplicates = 4\n",
		})
		_, err := plan.Parse("campaign.toml", []byte(text))
		if connected && err != nil {
			t.Fatalf("connected, but %v", err)
		}
		if !connected && (err == nil || !strings.Contains(err.Error(), "cannot tell the effects of a and b apart")) {
			t.Fatalf("not connected, but %v", err)
		}
	})
}

// The half of a 2^4 factorial with d = abc tells all main effects apart; with d = a it does not,
// and says which two are one.
func TestSeparableFractions(t *testing.T) {
	for _, c := range []struct {
		name string
		d    func(a, b, c int) int
		want string
	}{
		{"d = abc", func(a, b, c int) int { return (a + b + c) % 2 }, ""},
		{"d = a", func(a, b, c int) int { return a }, "cannot tell the effects of a and d apart"},
		{"d = not c", func(a, b, c int) int { return 1 - c }, "cannot tell the effects of c and d apart"},
	} {
		var list []string
		factors := ""
		for i := range 8 {
			x, y, z := i/4, i/2%2, i%2
			list = append(list, fmt.Sprintf("{a = %d, b = %d, c = %d, d = %d}", x, y, z, c.d(x, y, z)))
		}
		for _, name := range []string{"a", "b", "c", "d"} {
			factors += "[[factor]]\nname = \"" + name + "\"\nlevels = [0, 1]\n"
		}
		text, _ := assemble(map[string]string{"head": sound["head"] + "treatments = [" + strings.Join(list, ", ") + "]\n", "factor": factors})
		_, err := plan.Parse("campaign.toml", []byte(text))
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}
