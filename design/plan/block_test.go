package plan_test

import (
	"testing"

	"fairrun/design"
	"fairrun/design/plan"
)

// blockFaultCases are those of blocks that do not answer the plan; see faultCases.
var blockFaultCases = []faultCase{
	{"block without numbers", map[string]string{"block": "[§§block]\n"}, []string{
		`[block] has no count; add count = 4: how many packs or sessions there are`,
		`[block] has no replicates; add replicates = 2: how often each treatment is run in each block; or runs = 6 when a block lasts fewer runs than there are treatments`}},
	{"numbers that count nothing", map[string]string{"block": "[block]\nname = §7\ncount = §0\nreplicates = §-2\n"}, []string{
		`name is the number 7; put it in quotes: name = "7"`,
		`count is 0; write a whole number, 1 or more`,
		`replicates is -2; write a whole number, 1 or more`}},
	{"plurals that are none", map[string]string{"block": "[block]\nname = \"pack\"\nplural = §\" packs\"\ncount = 2\nreplicates = 2\n"}, []string{
		`plural is " packs", with blanks at its ends; write "packs"`}},
	{"a long plural", map[string]string{"block": "[block]\nname = \"pack\"\nplural = §\"packs of the largest kind that there is in the shop\"\ncount = 2\nreplicates = 2\n"}, []string{
		`plural has 51 characters; keep it to 40`}},
	{"zero replicates", map[string]string{"block": "[block]\ncount = 2\nreplicates = §0\n"}, []string{
		`replicates is 0; write a whole number, 1 or more`}},
	{"numbers that are not whole", map[string]string{"block": "[block]\ncount = §2.0\nreplicates = §\"2\"\n"}, []string{
		`count is the number 2.0; write a whole number, 1 or more`,
		`replicates is the text "2"; write a whole number, 1 or more`}},
	{"numbers out of all proportion", map[string]string{"block": "[block]\ncount = §99999999999999999999\nreplicates = §10001\n"}, []string{
		`count is 99999999999999999999; write a whole number from 1 to 10000`,
		`replicates is 10001; write a whole number from 1 to 10000`}},
	{"replicates and runs", map[string]string{"block": "[block]\ncount = 2\nreplicates = 2\n§runs = 2\n"}, []string{
		`replicates and runs exclude each other; keep replicates when a block holds every treatment, runs when it holds fewer runs than there are treatments`}},
	{"too many runs", map[string]string{"block": "[block]\ncount = §1000\nreplicates = 4\n"}, []string{
		`the plan asks for 1000 blocks of 12 runs; a plan may have at most 10000 runs`}},
	{"nothing left for the noise", map[string]string{"block": "[block]\nname = \"battery\"\ncount = 1\nreplicates = §1\n"}, []string{
		// 3 runs; the mean, the slope and 3-1 differences are 4.
		`3 runs leave nothing to estimate the noise: 1 battery, 1 drift term and 2 treatment differences take 4; write replicates = 2 or count = 2, or more`}},
	{"nothing left for the noise, own drift in each block", map[string]string{
		"block": "[block]\nname = \"pack\"\ncount = 2\nreplicates = §1\n", "rest": "[drift]\nmodel = \"quadratic\"\nown = true\n"}, []string{
		// 6 runs; 2 blocks, 2·2 curves, 2 differences. With 2 replicates 12 runs leave 4; blocks of 3
		// runs are wholly spent on their mean and curve, so no number of them helps.
		`6 runs leave nothing to estimate the noise: 2 packs, 4 drift terms and 2 treatment differences take 8; write replicates = 2 or more`}},
	{"any shape in one block", map[string]string{"block": "[block]\ncount = 1\nreplicates = §5\n", "rest": "[drift]\nmodel = \"position\"\n"}, []string{
		// 15 runs, 15 positions. Two blocks have 30 runs, 2 + 14 + 2 things to estimate.
		`15 runs leave nothing to estimate the noise: 1 block, 14 drift terms and 2 treatment differences take 17; write count = 2 or more`}},
	{"complete blocks by their runs that are too few", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 1\nruns = §3\n", "rest": "[drift]\nmodel = \"none\"\n"}, []string{
		// 3 runs are 1 pack and 2 differences; 6 leave 3.
		`3 runs leave nothing to estimate the noise: 1 pack and 2 treatment differences take 3; write replicates = 2 in place of runs or count = 2, or more`}},
	{"complete blocks by their runs that do not last", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 2\nruns = §12\n", "rest": "[budget]\nrun = \"36 s\"\ncapacity = \"0.1 kWh\"\nusable = 0.9\nload = \"1800 W\"\n"}, []string{
		// 90 Wh over 18 Wh is 5 runs: 1 replicate of 3; the 24 runs are 8 packs of 3.
		`a pack lasts 5 runs and the plan puts 12 into it; write replicates = 1 in place of runs and count = 8: 24 runs`}},
	{"block of one run", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 40\nruns = §1\n"}, []string{
		`a pack of 1 run compares nothing; write runs = 2 or more`}},
	{"block too small for the treatments", map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [" + numbers(12) + "]\n",
		"block":  "[block]\nname = \"pack\"\ncount = §1\nruns = 8\n"}, []string{
		// 2 packs are the first to hold 12 treatments: 16 runs, 2 + 1 + 11 things to estimate.
		`12 treatments need at least 2 packs of 8 runs; you have 1; write count = 2 or more: then all are compared, and something is left to estimate the noise`}},
	{"blocks of pairs that cannot link all treatments", map[string]string{
		"factor": "[[factor]]\nname = \"weakening\"\nlevels = [0, 1, 2, 3, 4, 5]\n",
		"block":  "[block]\ncount = §6\nruns = 2\n"}, []string{
		// 6 blocks: 12 runs, 6 + 1 + 5 = 12 things; 7 blocks: 14 runs, 13 things.
		`6 treatments need at least 7 blocks of 2 runs; you have 6; write count = 7 or more: then all are compared, and something is left to estimate the noise`}},

	{"pairs that are spent on their own drift", map[string]string{"block": "[block]\ncount = §6\nruns = 2\n", "rest": "[drift]\nown = true\n"}, []string{
		`no number of blocks of 2 runs is enough for 3 treatments; take treatments out, or choose a simpler drift model`}},
	{"more blocks than can be repeated", map[string]string{
		"factor": "[[factor]]\nname = \"a\"\nlevels = [0, 1]\n",
		"block":  "[block]\ncount = 3000\nreplicates = §1\n", "rest": "[drift]\nmodel = \"linear\"\nown = true\n"}, []string{
		`6000 runs leave nothing to estimate the noise: 3000 blocks, 3000 drift terms and 1 treatment difference take 6001; take treatments out, or choose a simpler drift model`}},
}

// Blocks whose runs are a multiple of the treatments are complete: the same plan as with replicates, and the same hash.
func TestRunsOfCompleteBlocks(t *testing.T) {
	read := func(block string) *design.Plan {
		text, _ := assemble(map[string]string{"block": "[block]\nname = \"pack\"\ncount = 2\n" + block})
		c, err := plan.Parse("campaign.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	want, got := read("replicates = 2\n"), read("runs = 6\n")
	if got.Hash() != want.Hash() || got.Block != want.Block || got.Block.Replicates != 2 {
		t.Errorf("runs = 6 of 3 treatments: %+v with hash %s, want %+v with %s", got.Block, got.Hash(), want.Block, want.Hash())
	}
}
