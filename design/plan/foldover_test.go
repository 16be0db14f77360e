package plan_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/plan"

	"github.com/google/go-cmp/cmp"
)

// screenOf is a plan of a screen of n factors a, b, … in 2 packs.
func screenOf(n int, screen string) string {
	return "title = \"Screening\"\nscope = \"pod thruster\"\nseed = 41\n" + twoLevels(n) +
		"[block]\nname = \"pack\"\ncount = 2\nreplicates = 1\n[order]\n" + screen + "\n[[response]]\nname = \"pull\"\nbetter = \"higher\"\n"
}

func planOf(t *testing.T, text string) *design.Plan {
	t.Helper()
	c, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The mirror image of each run, in blocks of its own behind those there are.
func TestFoldOver(t *testing.T) {
	for _, c := range []struct {
		plan, which string
		exchanged   []int
		treatments  int // of both parts
	}{
		{screenOf(5, `resolution = "III"`), "all", []int{0, 1, 2, 3, 4}, 16},
		{screenOf(5, `fraction = 8`), "d", []int{3}, 16},
		{screenOf(7, `fraction = 8`), "all", []int{0, 1, 2, 3, 4, 5, 6}, 16},
		{screenOf(6, `fraction = 16`), "b", []int{1}, 32}, // resolution IV
		{screenOf(11, `plackett_burman = 12`), "all", []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, 24},
		// Of five factors two runs and their mirror image are among the twelve: 22, as a sheet that
		// folds it over within its packs is reported.
		{screenOf(5, `plackett_burman = 12`), "all", []int{0, 1, 2, 3, 4}, 22},
	} {
		before := planOf(t, c.plan)
		after, err := plan.FoldOver(before, c.which, 3)
		if err != nil {
			t.Errorf("%s: %v", c.which, err)
			continue
		}
		if n := len(after.Treatments()); n != c.treatments {
			t.Errorf("%s: %d treatments, want %d", c.which, n, c.treatments)
		}
		if before.Order.Screen.FoldOver != "" || before.Block.Count != 2 {
			t.Errorf("%s: the plan itself was changed", c.which)
		}
		if after.Block.Count != 5 || !slices.Equal(after.Order.Screen.FoldBlocks, []int{3, 4, 5}) || after.DrawnPerBlock() != before.DrawnPerBlock() {
			t.Errorf("%s: %+v, %+v", c.which, after.Block, after.Order.Screen)
		}
		mirror := after.Mirror()
		if len(mirror) != len(before.Treatments()) {
			t.Fatalf("%s: the mirror image of %d treatments is %d", c.which, len(before.Treatments()), len(mirror))
		}
		for i, was := range before.Treatments() {
			want := slices.Clone(was.Levels)
			for _, k := range c.exchanged {
				want[k] = map[string]string{"0": "1", "1": "0"}[want[k]]
			}
			if diff := cmp.Diff(want, after.Treatments()[mirror[i]].Levels); diff != "" {
				t.Errorf("%s: mirror image of %v (-want +got):\n%s", c.which, was, diff)
			}
		}
		if f := after.Freedom(); f.Treatments != len(before.Factors) || f.Runs != 5*before.DrawnPerBlock() {
			t.Errorf("%s: freedom %+v", c.which, f)
		}
	}
}

func TestFoldOverRefuses(t *testing.T) {
	for _, c := range []struct{ plan, which, want string }{
		{strings.Replace(screenOf(5, ""), "[order]\n", "", 1), "all",
			"the plan is no screen: a fold-over mirrors runs that resolution, fraction or plackett_burman in [order] has chosen"},
		{screenOf(5, "fraction = 8\nfold_over = \"a\""), "all", `the screen is folded over already: fold_over = "a"`},
		{screenOf(5, "fraction = 8"), "rudder", `there is no factor "rudder" to fold over: allowed: all, a, b, c, d, e`},
		{screenOf(3, "fraction = 8"), "all", "the 8 runs are all combinations of the factors: a fold-over would only run them again; to run them again, add blocks"},
		{screenOf(5, "fraction = 16"), "all", "the runs are of resolution V: main effects and interactions of two factors are free of each other already, and a fold-over frees none of them"},
		// I = ABCE = BCDF = ADEF: words of even length only.
		{screenOf(6, "fraction = 16"), "all", "the mirror image of all factors frees no main effect and no interaction of two factors: the runs are of resolution IV, in which main effects are free of those already; what frees some is to fold over a, b, c, d, e, f"},
		// Seven factors in 32 runs: F = ABC, G = ABDE, so I = ABCF = ABDEG = CDEFG. C, F are in ABCF; G is in
		// none of the words of four letters.
		{screenOf(7, "fraction = 32"), "g", "exchanging the levels of g frees no main effect and no interaction of two factors; what frees some is to fold over a, b, c, f"},
	} {
		p := planOf(t, c.plan)
		if _, err := plan.FoldOver(p, c.which, 1); err == nil || err.Error() != c.want {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
	// Four runs of the eight in a pack: one pack cannot hold the fold-over.
	p := planOf(t, strings.Replace(screenOf(4, "fraction = 8"), "count = 2\nreplicates = 1", "count = 6\nruns = 4", 1))
	if _, err := plan.FoldOver(p, "a", 1); err == nil || err.Error() != "1 pack of 4 runs cannot hold the fold-over, 8 treatments: add more of them" {
		t.Errorf("error %v", err)
	}
}

// A plan may have its fold-over in blocks of its own from the beginning.
func TestFoldBlocksFaults(t *testing.T) {
	for _, c := range []struct{ keys, want string }{
		{"fraction = 8\nfold_over_blocks = [2]", `fold_over_blocks says where the fold-over is run, but there is none; add fold_over = "all", or one factor`},
		{"fraction = 8\nfold_over = \"all\"\nfold_over_blocks = [3]", "fold_over_blocks has pack 3; there are 2; write numbers from 1 to 2"},
		{"fraction = 8\nfold_over = \"all\"\nfold_over_blocks = [1, 2]", "all packs hold the fold-over, and none the runs that are folded over; leave some of them out"},
		{"fraction = 8\nfold_over = \"all\"\nfold_over_blocks = 2", "fold_over_blocks is the number 2; write a list of blocks, counted from 1, such as [3, 4]"},
		{"fraction = 8\nfold_over = \"all\"\nfold_over_blocks = [2, 2]", "fold_over_blocks holds 2 twice; take one of them out"},
		{"warmup = 1\nfraction = 8\nfold_over = \"all\"\nfold_over_blocks = [2]", "the baseline, which warm-up and reference runs run, is a run of the fold-over alone; choose baselines that are together one of the runs folded over"},
	} {
		text := screenOf(5, c.keys)
		if strings.Contains(c.keys, "warmup") {
			// I = ABD = ACE: the run of low levels has d and e high.
			text = strings.ReplaceAll(text, "levels = [0, 1]\n", "levels = [0, 1]\nbaseline = 0\n")
		}
		_, err := plan.Parse("campaign.toml", []byte(text))
		if err == nil || !strings.HasSuffix(err.Error(), c.want) {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
	c := planOf(t, screenOf(5, "fraction = 8\nfold_over = \"all\"\nfold_over_blocks = [2]"))
	if c.Runs() != 16 || len(c.Treatments()) != 16 || !slices.Equal(c.Mirror(), []int{8, 9, 10, 11, 12, 13, 14, 15}) {
		t.Errorf("%d runs, %d treatments, mirror image %v", c.Runs(), len(c.Treatments()), c.Mirror())
	}
}

// However the plan is written, every byte but those of the keys is kept.
func TestSetFoldOver(t *testing.T) {
	head := "title = \"Screening\" # mine\nscope = \"pod thruster\"\nseed = 41\n" + twoLevels(5) + "[[response]]\nname = \"pull\"\nbetter = \"higher\"\n"
	for _, c := range []struct{ was, is string }{
		{"[block]\ncount = 2 # packs\nreplicates = 1\n[order]\nfraction = 8 # eight\nwarmup = 1\n",
			"[block]\ncount = 4 # packs\nreplicates = 1\n[order]\nfraction = 8 # eight\nfold_over = \"all\"\nfold_over_blocks = [3, 4]\nwarmup = 1\n"},
		{"[block]\ncount = 2\nreplicates = 1\n[order]\n  resolution = \"III\"", // no end of the last line
			"[block]\ncount = 4\nreplicates = 1\n[order]\n  resolution = \"III\"\n  fold_over = \"all\"\n  fold_over_blocks = [3, 4]"},
		{"[block]\ncount = 2\nreplicates = 1\n[order]\nfraction = 8\nfold_over_blocks = [2] # where\nfold_over = \"all\" # how\n",
			"[block]\ncount = 4\nreplicates = 1\n[order]\nfraction = 8\nfold_over_blocks = [3, 4] # where\nfold_over = \"all\" # how\n"},
	} {
		for _, eol := range []string{"\n", "\r\n"} {
			was, is := strings.ReplaceAll(head+c.was, "\n", eol), strings.ReplaceAll(head+c.is, "\n", eol)
			if strings.Contains(was, "warmup") {
				was, is = strings.ReplaceAll(was, "levels = [0, 1]", "levels = [0, 1]\nbaseline = 1"), strings.ReplaceAll(is, "levels = [0, 1]", "levels = [0, 1]\nbaseline = 1")
			}
			setFoldOver(t, "\ufeff"+was, "\ufeff"+is)
		}
	}
	for _, c := range []struct{ was, is string }{
		{`order = {fraction = 8}`, `order = {fraction = 8, fold_over = "all", fold_over_blocks = [3, 4]}`},
		{`order = { warmup = 1, resolution = "III", carry_over = false } # inline`, `order = { warmup = 1, resolution = "III", fold_over = "all", fold_over_blocks = [3, 4], carry_over = false } # inline`},
		{`order.fraction = 8 # dotted`, "order.fraction = 8 # dotted\norder.fold_over = \"all\"\norder.fold_over_blocks = [3, 4]"},
	} {
		rest := "\n" + strings.ReplaceAll(head, "levels = [0, 1]", "levels = [0, 1]\nbaseline = 1") + "[block]\ncount = %d\nreplicates = 1\n"
		setFoldOver(t, c.was+fmt.Sprintf(rest, 2), c.is+fmt.Sprintf(rest, 4))
	}
}

func setFoldOver(t *testing.T, was, is string) {
	t.Helper()
	got, err := plan.SetFoldOver("campaign.toml", []byte(was), 4, &design.Screen{Fraction: 8, FoldOver: "all", FoldBlocks: []int{3, 4}})
	if strings.Contains(was, "resolution") {
		got, err = plan.SetFoldOver("campaign.toml", []byte(was), 4, &design.Screen{Resolution: 3, FoldOver: "all", FoldBlocks: []int{3, 4}})
	}
	if err != nil {
		t.Errorf("%v in\n%s", err, was)
		return
	}
	if diff := cmp.Diff(is, string(got)); diff != "" {
		t.Errorf("plan (-want +got):\n%s", diff)
	}
}

// What the differences of plans say of it.
func TestFoldOverDifference(t *testing.T) {
	before := planOf(t, screenOf(5, "fraction = 8"))
	after, err := plan.FoldOver(before, "all", 2)
	if err != nil {
		t.Fatal(err)
	}
	changes, err := design.Differences(before.Canonical(), after.Canonical())
	if err != nil {
		t.Fatal(err)
	}
	want := "order: screen was fraction of 8 runs and is fraction of 8 runs, folded over: all, in blocks [3 4]"
	if !slices.Contains(changes, want) {
		t.Errorf("changes %q, want %q among them", changes, want)
	}
}
