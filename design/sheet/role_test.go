package sheet

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/table"
)

const rolesPlan = `title = "Field weakening"
scope = "pod thruster no. 3"
seed = 41
[[factor]]
name = "prop"
levels = ["A", "B"]
baseline = "A"
[[factor]]
name = "weakening"
levels = [0, 4]
baseline = 0
[block]
name = "pack"
count = 2
replicates = 1
[drift]
model = "none"
[[response]]
name = "pull"
better = "higher"
`

// writeOrder puts a plan and a sheet of the given order into the current folder.
func writeOrder(t *testing.T, text string, d *order.Drawn) *design.Plan {
	t.Helper()
	t.Chdir(t.TempDir())
	write(t, PlanFile, text)
	c, err := plan.Read(PlanFile)
	if err != nil {
		t.Fatal(err)
	}
	d.Version, d.Seed, d.Plan = order.Version, 41, OrderPlan(c)
	if _, err := Write(".", c, d, drawnAt, table.Dialect{}); err != nil {
		t.Fatal(err)
	}
	return c
}

// A warm-up run at the start, the baseline again at position 4, drawn runs at the others.
func TestSheetOfWarmupAndReferenceRuns(t *testing.T) {
	writeOrder(t, rolesPlan+"[order]\nwarmup = 1\nreference = [4]\n",
		&order.Drawn{Blocks: [][]int{{0, 3, 1, 0, 2, 0}, {0, 2, 0, 0, 3, 1}}})
	want := `run,block,position,role,prop,weakening,start_volts,start_temp,pull,status,log,done_at,note
1,1,1,warm-up,A,0,,,,,,,
2,1,2,,B,4,,,,,,,
3,1,3,,A,4,,,,,,,
4,1,4,reference,A,0,,,,,,,
5,1,5,,B,0,,,,,,,
6,1,6,,A,0,,,,,,,
7,2,1,warm-up,A,0,,,,,,,
8,2,2,,B,0,,,,,,,
9,2,3,,A,0,,,,,,,
10,2,4,reference,A,0,,,,,,,
11,2,5,,B,4,,,,,,,
12,2,6,,A,4,,,,,,,
`
	if diff := cmp.Diff(want, read(t, File)); diff != "" {
		t.Errorf("sheet (-want +got):\n%s", diff)
	}

	// A warm-up run is not asked for its response; others are.
	write(t, File, strings.NewReplacer("warm-up,A,0,,,,,", "warm-up,A,0,,,,ok,", "reference,A,0,,,,,", "reference,A,0,,,,ok,").Replace(read(t, File)))
	s, err := Open(".")
	if err != nil {
		t.Fatal(err)
	}
	var roles []Role
	for _, r := range s.Runs[:6] {
		roles = append(roles, r.Role)
	}
	if diff := cmp.Diff([]Role{Warmup, Drawn, Drawn, Reference, Drawn, Drawn}, roles); diff != "" {
		t.Errorf("roles (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{
		`runsheet.csv: row 5, column 10 "status": run 4 is ok but has no response; enter what was measured, or make it failed or void`,
		`runsheet.csv: row 11, column 10 "status": run 10 is ok but has no response; enter what was measured, or make it failed or void`,
	}, strings.Split(s.Warnings.Error(), "\n")); diff != "" {
		t.Errorf("warnings (-want +got):\n%s", diff)
	}

	// The role is planned: it is compared, and not recorded.
	write(t, File, strings.Replace(read(t, File), "1,1,1,warm-up", "1,1,1,", 1))
	_, err = Open(".")
	if diff := cmp.Diff(`runsheet.csv: row 2, column 4 "role": run 1 was drawn with "warm-up", the cell has ""; put "warm-up" back`, message(err)); diff != "" {
		t.Errorf("error (-want +got):\n%s", diff)
	}
	_, err = Record(".", 2, []Assignment{{"role", "reference"}}, true, drawnAt)
	if err == nil || !strings.Contains(err.Error(), "role was set by the draw and is not recorded") {
		t.Errorf("recording a role: %v", err)
	}
}

// Runs that share a setting of the factor that is hard to change are one whole plot of their block.
func TestSheetOfWholePlots(t *testing.T) {
	writeOrder(t, strings.Replace(rolesPlan, `baseline = "A"`, `hard_to_change = true`, 1),
		&order.Drawn{Blocks: [][]int{{3, 2, 0, 1}, {0, 1, 3, 2}}})
	want := `run,block,position,whole_plot,prop,weakening,start_volts,start_temp,pull,status,log,done_at,note
1,1,1,1,B,4,,,,,,,
2,1,2,1,B,0,,,,,,,
3,1,3,2,A,0,,,,,,,
4,1,4,2,A,4,,,,,,,
5,2,1,3,A,0,,,,,,,
6,2,2,3,A,4,,,,,,,
7,2,3,4,B,4,,,,,,,
8,2,4,4,B,0,,,,,,,
`
	if diff := cmp.Diff(want, read(t, File)); diff != "" {
		t.Errorf("sheet (-want +got):\n%s", diff)
	}
	if _, err := Open("."); err != nil {
		t.Error(err)
	}
	write(t, File, strings.Replace(read(t, File), "3,1,3,2,A", "3,1,3,1,A", 1))
	_, err := Open(".")
	if diff := cmp.Diff(`runsheet.csv: row 4, column 4 "whole_plot": run 3 was drawn with 2, the cell has "1"; put 2 back`, message(err)); diff != "" {
		t.Errorf("error (-want +got):\n%s", diff)
	}
	// A sheet in which nothing is entered is drawn over, planned columns and all.
	c, err := plan.Read(PlanFile)
	if err != nil {
		t.Fatal(err)
	}
	d, err := NewOrder(c, 41)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Write(".", c, d, drawnAt, table.Dialect{}); err != nil {
		t.Error(err)
	}
}

func message(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// Every kind of order that a plan can ask for reaches the order's plan.
func TestOrderPlan(t *testing.T) {
	for _, c := range []struct {
		name, block, order string
		want               order.Spec
	}{
		{"incomplete blocks", "[block]\ncount = 4\nruns = 3\n", "", order.Spec{Runs: 3, Blocks: 4}},
		{"more runs than treatments", "[block]\ncount = 4\nruns = 6\n", "", order.Spec{Runs: 6, Blocks: 4}},
		{"carry-over", "[block]\ncount = 4\nreplicates = 1\n", "[order]\ncarry_over = true\n", order.Spec{Replicates: 1, Blocks: 4, CarryOver: true}},
		// The baselines are A and 0: the first treatment. Positions count from 0.
		{"fixed runs", "[block]\ncount = 4\nreplicates = 1\n", "[order]\nwarmup = 1\nreference = [2, 7]\n", order.Spec{Replicates: 1, Blocks: 4, Warmup: 1, Reference: []int{1, 6}}},
	} {
		text := strings.Replace(rolesPlan, "[block]\nname = \"pack\"\ncount = 2\nreplicates = 1\n", c.block, 1)
		text = strings.Replace(text, `"none"`, `"quadratic"`, 1) + c.order
		p, err := plan.Parse("campaign.toml", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		c.want.Treatments, c.want.Drift = 4, order.Quadratic
		if diff := cmp.Diff(c.want, OrderPlan(p)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
		if _, err := NewOrder(p, 1); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Without interactions the main effects count: an indicator of each level but the first.
func TestOrderPlanOfMainEffects(t *testing.T) {
	p, err := plan.Parse("campaign.toml", []byte("interactions = false\n"+rolesPlan))
	if err != nil {
		t.Fatal(err)
	}
	want := [][]float64{{0, 0}, {0, 1}, {1, 0}, {1, 1}}
	if diff := cmp.Diff(want, OrderPlan(p).Effects); diff != "" {
		t.Errorf("effects (-want +got):\n%s", diff)
	}
}

// A parabola through blocks of two runs leaves nothing to compare; three runs leave one number each. The plan's reader
// refuses it already, so that it is put together here.
func TestImpossibleOrderInThePlansWords(t *testing.T) {
	text := strings.Replace(rolesPlan, "count = 2\nreplicates = 1", "count = 6\nruns = 3", 1)
	p, err := plan.Parse("campaign.toml", []byte(strings.Replace(text, `"none"`, `"quadratic"`, 1)))
	if err != nil {
		t.Fatal(err)
	}
	p.Block.Runs = 2
	_, err = NewOrder(p, 1)
	const want = "4 treatments with shared quadratic drift need at least 6 packs of 3 runs; you have 6 of 2, " +
		"too few for the 11 numbers to be estimated; the nearest plan that is possible has runs = 3"
	if diff := cmp.Diff(want, message(err)); diff != "" {
		t.Errorf("error (-want +got):\n%s", diff)
	}
}
