package plan_test

import (
	"fmt"
	"strings"
	"testing"

	"fairrun/design"

	"github.com/google/go-cmp/cmp"
)

// twoLevels is so many factors of levels 0 and 1, called a, b, ….
func twoLevels(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "[[factor]]\nname = \"%c\"\nlevels = [0, 1]\n", 'a'+i)
	}
	return b.String()
}

const (
	hardProp = `[[factor]]
name = "prop"
levels = ["A", "B"]
hard_to_change = true
[[factor]]
name = "weakening"
levels = [0, 4]
`
	withBaseline = `[[factor]]
name = "weakening"
levels = [0, 4, 8]
baseline = 0
`
)

var orderFaultCases = []faultCase{
	{"order that is no table", map[string]string{"head": sound["head"] + "§order = true\n"}, []string{
		`order is true; write it as the table [order]`}},
	{"unknown key in order", map[string]string{"rest": "[order]\n§carryover = true\n"}, []string{
		`unknown key "carryover" in [order]; did you mean "carry_over"? allowed: carry_over, warmup, reference, resolution, fraction, plackett_burman, fold_over, fold_over_blocks`}},
	{"warm-up runs without a baseline", map[string]string{"rest": "[order]\nwarmup = §1\n"}, []string{
		`warmup runs the baseline, but there is none for weakening; add baseline = …, one of the levels, to each`}},
	{"too many warm-up runs", map[string]string{"rest": "[order]\nwarmup = §101\n"}, []string{
		`warmup is 101; write at most 100`}},
	{"reference run past the end", map[string]string{"factor": withBaseline, "rest": "[order]\nwarmup = 1\nreference = §[2, 10]\n"}, []string{
		// 3 treatments twice, 1 warm-up run and 2 reference runs: 9 positions.
		`a reference run stands at position 10 of a pack of 9 runs; write positions from 2 to 9`}},
	{"reference run among the warm-up runs", map[string]string{"factor": withBaseline, "rest": "[order]\nwarmup = 2\nreference = §[2]\n"}, []string{
		`a reference run stands at position 2 of a pack of 9 runs; write positions from 3 to 9`}},
	{"reference run twice", map[string]string{"factor": withBaseline, "rest": "[order]\nreference = §[3, 3]\n"}, []string{
		`reference holds 3 twice; take one of them out`}},
	{"reference at no position", map[string]string{"factor": withBaseline, "rest": "[order]\nreference = §[1.5]\n"}, []string{
		`reference holds the number 1.5; write a list of positions in a block, counted from 1, such as [2]`}},
	{"reference that is a number", map[string]string{"factor": withBaseline, "rest": "[order]\nreference = §3\n"}, []string{
		`reference is the number 3; write a list of positions in a block, counted from 1, such as [2]`}},
	{"baseline that is not chosen", map[string]string{
		"head":   "title = \"a\"\nscope = \"b\"\ntreatments = [{p = 0, q = 1}, {p = 1, q = 0}, {p = 1, q = 1}]\n",
		"factor": "[[factor]]\nname = \"p\"\nlevels = [0, 1]\nbaseline = 0\n[[factor]]\nname = \"q\"\nlevels = [0, 1]\nbaseline = 0\n",
		"rest":   "[order]\nreference = §[1]\n"}, []string{
		`reference runs the baseline, but the baselines together, "0 0", are none of the treatments; add that treatment, or change the baselines`}},
	{"neighbours of whole plots in incomplete blocks", map[string]string{"factor": hardProp, "block": "[block]\nname = \"pack\"\ncount = 6\nruns = 5\n", "rest": "[order]\ncarry_over = §true\n"}, []string{
		`neighbours of whole plots are balanced only where a pack holds every treatment; hard to change: prop; write replicates in place of runs, take carry_over out, or write hard_to_change = false`}},
	{"reference runs in whole plots", map[string]string{"factor": hardProp, "rest": "[order]\nreference = §[2]\n"}, []string{
		`reference runs would break whole plots up; hard to change: prop; take reference out, or write hard_to_change = false`}},
	{"whole plots in short blocks", map[string]string{"factor": hardProp, "block": "[block]\nname = \"pack\"\ncount = 6\nruns = §3\n"}, []string{
		`a pack of 3 runs cannot hold 2 whole plots of 2 runs to compare; hard to change: prop; write runs = 4 or more, or hard_to_change = false and set it again before every run`}},
	// 2 settings of 2 treatments in 2 packs of 2 whole plots: of 4 means, 2 are packs', 1 is the settings' and 1 the place's within a pack.
	{"whole plots and any course in 2 blocks", map[string]string{"factor": hardProp, "block": "[block]\nname = \"pack\"\ncount = §2\nreplicates = 2\n", "rest": "[drift]\nmodel = \"position\"\n"}, []string{
		`2 packs of 2 whole plots leave nothing to tell the effect of prop from chance; hard to change: prop; write count = 3 or more`}},
	{"whole plots in one block", map[string]string{"factor": hardProp, "block": "[block]\nname = \"pack\"\ncount = §1\nreplicates = 3\n"}, []string{
		`in 1 pack each setting of prop is made up once: nothing tells its effect from chance; write count = 2 or more, or hard_to_change = false and set it again before every run`}},

	{"screen in two ways", map[string]string{"factor": twoLevels(5), "rest": "[§order]\nfraction = 8\nplackett_burman = 12\n"}, []string{
		`[order] chooses treatments in more than one way; keep one of resolution, fraction and plackett_burman`}},
	{"screen and list", map[string]string{"head": sound["head"] + "§treatments = [{a = 0, b = 0}, {a = 1, b = 1}]\n", "factor": twoLevels(2), "rest": "[order]\nfraction = 4\n"}, []string{
		`treatments are listed, and chosen by fraction in [order]; keep one of the two`}},
	{"screen with interactions", map[string]string{"head": sound["head"] + "interactions = §true\n", "factor": twoLevels(3), "rest": "[order]\nfraction = 4\n"}, []string{
		`interactions is true, but the runs that fraction chooses tell main effects only; take interactions out`}},
	{"screen of three levels", map[string]string{"factor": "[[§factor]]\nname = \"a\"\nlevels = [0, 1, 2]\n" + strings.ReplaceAll(twoLevels(3), `"a"`, `"d"`), "rest": "[order]\nresolution = \"IV\"\n"}, []string{
		`a has 3 levels, but resolution in [order] is for factors of 2; keep the two levels that lie furthest apart, or take resolution out`}},
	{"resolution that is none", map[string]string{"factor": twoLevels(5), "rest": "[order]\nresolution = §\"VI\"\n"}, []string{
		`resolution is "VI"; did you mean "IV"? allowed: III, IV, V`}},
	{"resolution that no fraction has", map[string]string{"factor": twoLevels(9), "rest": "[order]\nresolution = §\"V\"\n"}, []string{
		// 9 factors have 9 + 36 main effects and interactions of two, more than 31.
		`no regular fraction of up to 32 runs has resolution V for 9 factors; for 9 factors there are fraction = 16 (resolution III), fraction = 32 (resolution IV), plackett_burman = 12, plackett_burman = 20, plackett_burman = 24`}},
	{"fraction of an odd number of runs", map[string]string{"factor": twoLevels(5), "rest": "[order]\nfraction = §12\n"}, []string{
		`regular fractions have 4, 8, 16 or 32 runs, not 12; for 5 factors there are fraction = 8 (resolution III), fraction = 16 (resolution V), fraction = 32 (all combinations), plackett_burman = 12, plackett_burman = 20`}},
	{"fold over without a screen", map[string]string{"rest": "[order]\n§fold_over = \"all\"\n"}, []string{
		`fold_over stands without the runs that are folded over; add resolution = "III", fraction = 8 or plackett_burman = 12`}},
	{"fold over of no factor", map[string]string{"factor": twoLevels(5), "rest": "[order]\nfraction = 8\nfold_over = §\"g\"\n"}, []string{
		`fold_over is "g"; allowed: all, a, b, c, d, e`}},
	{"fold over onto itself", map[string]string{"factor": twoLevels(4), "rest": "[order]\nfraction = 8\nfold_over = §\"all\"\n"}, []string{
		// I = ABCD: the mirror image of each run has the same product of signs.
		`folded over, these runs are the same ones again; take fold_over out, or write fold_over = "a": the main effect of one factor and its interactions are then free of all others`}},

	{"rest until no temperature", map[string]string{"rest": "[budget]\nrun = \"40 s\"\nrest_until = §\"cool\"\n"}, []string{
		`rest_until is the text "cool"; write a temperature in the unit of start_temp, such as "35 °C"`}},
	{"rest until a bare number", map[string]string{"rest": "[budget]\nrun = \"40 s\"\nrest_until = §35\n"}, []string{
		`rest_until is the number 35; write a temperature in the unit of start_temp, such as "35 °C"`}},
	{"warm-up runs that fill the pack", map[string]string{"factor": withBaseline,
		"block": "[block]\nname = \"pack\"\ncount = 4\nreplicates = §1\n",
		"rest":  "[order]\nwarmup = 2\n[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\nuse = \"1.3 Ah\"\n"}, []string{
		// 80 % of 5 Ah is 3 runs of 1.3 Ah.
		`a pack lasts 3 runs, of which 2 are warm-up and reference runs; comparing within a pack takes 2 more; take warm-up or reference runs out, or write use = "1 Ah" or less, or capacity = "6.5 Ah" or more: then it lasts 4`}},
	{"warm-up runs that leave too few", map[string]string{"factor": withBaseline,
		"block": "[block]\nname = \"pack\"\ncount = 4\nreplicates = §2\n",
		"rest":  "[order]\nwarmup = 2\n[budget]\nrun = \"40 s\"\ncapacity = \"5 Ah\"\nuse = \"0.7 Ah\"\n"}, []string{
		// 5 runs, 3 of them drawn; 7 packs of 5 are the first to hold the 32 runs planned.
		`a pack lasts 5 runs and the plan puts 8 into it; write replicates = 1 and count = 7: 35 runs`}},
}

func TestOrderTable(t *testing.T) {
	text, _ := assemble(map[string]string{"factor": withBaseline, "rest": "[order]\ncarry_over = false\nwarmup = 2\nreference = [9, 3]\n[budget]\nrun = \"40 s\"\nrest_until = \"-3.5 °C\"\n"})
	c := parse(t, text)
	if diff := cmp.Diff(design.Order{Warmup: 2, Reference: []int{3, 9}}, c.Order); diff != "" {
		t.Errorf("Order (-want +got):\n%s", diff)
	}
	// 3 treatments twice, and the fixed runs.
	if got, want := [3]int{c.DrawnPerBlock(), c.AnalysedPerBlock(), c.RunsPerBlock()}, [3]int{6, 8, 10}; got != want {
		t.Errorf("drawn, analysed and all runs of a block are %v, want %v", got, want)
	}
	// 2 blocks of 8 analysed runs: 2 means, 1 slope, 2 differences.
	if diff := cmp.Diff(design.Freedom{Runs: 16, Blocks: 2, Drift: 1, Treatments: 2, Residual: 11}, c.Freedom()); diff != "" {
		t.Errorf("Freedom (-want +got):\n%s", diff)
	}
	if c.Budget.RestUntil == nil || *c.Budget.RestUntil != -3.5 {
		t.Errorf("RestUntil = %v, want -3.5", c.Budget.RestUntil)
	}
	if high := c.Readings[1].High; high == nil || *high != -3.5 {
		t.Errorf("start_temp has the upper limit %v, want that of rest_until", high)
	}
	// A plan without the table has the canonical form, and so the hash, that it had before there was one.
	plain, _ := assemble(nil)
	if form := string(parse(t, plain).Canonical()); strings.Contains(form, "order") {
		t.Errorf("the canonical form of a plan without [order] speaks of it: %s", form)
	}
	plain, _ = assemble(map[string]string{"factor": withBaseline})
	changes, err := design.Differences(parse(t, plain).Canonical(), c.Canonical())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"order: warm-up runs was 0 and is 2", "order: reference runs was none and is [3 9]"}, changes[:2]); diff != "" {
		t.Errorf("Differences (-want +got):\n%s", diff)
	}
}

func TestWholePlots(t *testing.T) {
	for _, c := range []struct {
		name, factor, block string
		want                []int
	}{
		{"settings of one hard factor", hardProp, "[block]\ncount = 2\nreplicates = 1\n", []int{0, 0, 1, 1}},
		{"of two hard factors, each setting run twice", strings.Replace(hardProp, "[0, 4]", "[0, 4]\nhard_to_change = true", 1), "[block]\ncount = 2\nreplicates = 2\n", []int{0, 1, 2, 3}},
		{"of two hard factors, each setting run once", strings.Replace(hardProp, "[0, 4]", "[0, 4]\nhard_to_change = true", 1), "[block]\ncount = 3\nreplicates = 1\n", nil},
		{"of two hard factors, in packs that hold some of them", strings.Replace(hardProp, "[0, 4]", "[0, 4]\nhard_to_change = true", 1), "[block]\ncount = 6\nruns = 3\n", nil},
		{"easy factors", twoLevels(2), "[block]\ncount = 2\nreplicates = 2\n", nil},
	} {
		text, _ := assemble(map[string]string{"factor": c.factor, "block": c.block})
		if diff := cmp.Diff(c.want, parse(t, text).WholePlots()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// The half fraction of four factors, D = ABC, in standard order, as every handbook prints it (Box,
// Hunter & Hunter 1978, Statistics for Experimenters, table 12.5; from memory, and D is the product of the signs).
func TestScreenOfFourFactors(t *testing.T) {
	text, _ := assemble(map[string]string{"factor": twoLevels(4), "rest": "[order]\nresolution = \"IV\"\n"})
	c := parse(t, text)
	want := [][]string{
		{"0", "0", "0", "0"}, {"1", "0", "0", "1"}, {"0", "1", "0", "1"}, {"1", "1", "0", "0"},
		{"0", "0", "1", "1"}, {"1", "0", "1", "0"}, {"0", "1", "1", "0"}, {"1", "1", "1", "1"},
	}
	if diff := cmp.Diff(want, c.Chosen); diff != "" {
		t.Errorf("treatments (-want +got):\n%s", diff)
	}
	if c.Interactions {
		t.Error("a screen estimates main effects; the plan asks for interactions")
	}
	f, err := c.Fraction()
	if err != nil || f.Resolution != 4 {
		t.Errorf("Fraction = %+v, %v; want resolution 4", f, err)
	}
}

// The first row of 12 runs that Plackett & Burman 1946 list is + + − + + + − − − + −; folded over, each run is
// followed by its mirror image 12 runs later.
func TestScreenOfElevenFactorsFoldedOver(t *testing.T) {
	text, _ := assemble(map[string]string{"factor": twoLevels(11), "rest": "[order]\nplackett_burman = 12\nfold_over = \"all\"\n"})
	c := parse(t, text)
	if len(c.Chosen) != 24 {
		t.Fatalf("%d treatments, want 24", len(c.Chosen))
	}
	if got, want := strings.Join(c.Chosen[0], ""), "11011100010"; got != want {
		t.Errorf("first row %s, want %s", got, want)
	}
	mirror := strings.NewReplacer("0", "1", "1", "0")
	for i, row := range c.Chosen[:12] {
		if got, want := strings.Join(c.Chosen[12+i], ""), mirror.Replace(strings.Join(row, "")); got != want {
			t.Errorf("row %d folded over is %s, want %s", i, got, want)
		}
	}
}

// Folding a screen of resolution III over in all factors leaves the words of even length (Box & Hunter 1961,
// Technometrics 3): resolution IV. Over in one factor, the words without it.
func TestScreenFoldedOver(t *testing.T) {
	for _, c := range []struct {
		fold             string
		runs, resolution int
	}{{"all", 16, 4}, {"d", 16, 3}} {
		text, _ := assemble(map[string]string{"factor": twoLevels(6), "rest": fmt.Sprintf("[order]\nfraction = 8\nfold_over = %q\n", c.fold)})
		f, err := parse(t, text).Fraction()
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Levels) != c.runs || f.Resolution != c.resolution {
			t.Errorf("fold_over %s: %d runs of resolution %d, want %d of %d", c.fold, len(f.Levels), f.Resolution, c.runs, c.resolution)
		}
	}
}

// Of the first four columns of the design of 12 runs, rows 3 and 11 of the list of Plackett & Burman are both + − + +: that
// combination is run twice.
func TestScreenThatRepeatsACombination(t *testing.T) {
	text, _ := assemble(map[string]string{"factor": twoLevels(4), "rest": "[order]\nplackett_burman = 12\n"})
	c := parse(t, text)
	times := map[string]int{}
	for _, treatment := range c.Treatments() {
		times[treatment.String()]++
	}
	twice := 0
	for _, n := range times {
		if n == 2 {
			twice++
		}
	}
	if len(times) != 11 || twice != 1 || len(c.Treatments()) != 12 {
		t.Errorf("%d treatments, %d of which differ and %d stand twice; want 12, 11 and 1", len(c.Treatments()), len(times), twice)
	}
}
