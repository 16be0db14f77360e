package plan_test

import (
	"fairrun/design/fault"
	"fairrun/design/plan"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// What is advised for a plan that takes too long is a plan without fault.
func TestAdviceOnHoursFits(t *testing.T) {
	advice := regexp.MustCompile(`; write (?:(replicates|runs) = (\d+)(?: and count = (\d+) in \[block\], and blocks = (\d+) here)?|count = (\d+)|blocks = (\d+)): `)
	advised := 0
	rapid.Check(t, func(t *rapid.T) {
		set := map[string]string{
			"count":      fmt.Sprint(rapid.IntRange(2, 12).Draw(t, "count")),
			"replicates": fmt.Sprint(rapid.IntRange(1, 4).Draw(t, "replicates")),
			"blocks":     fmt.Sprint(rapid.IntRange(1, 6).Draw(t, "blocks")),
		}
		day, all := rapid.IntRange(20, 400).Draw(t, "day"), rapid.IntRange(60, 2000).Draw(t, "all")
		swap := rapid.IntRange(1, 30).Draw(t, "swap")
		text := func() string {
			size := "replicates = " + set["replicates"]
			if runs, incomplete := set["runs"]; incomplete {
				size = "runs = " + runs
			}
			return fmt.Sprintf("title = \"a\"\nscope = \"b\"\n[[factor]]\nname = \"f\"\nlevels = [1, 2, 3]\n[block]\ncount = %s\n%s\n[session]\nblocks = %s\nhours = \"%d min\"\n"+
				"[budget]\nrun = \"4 min\"\nrest = \"1 min\"\nswap = \"%d min\"\nhours = \"%d min\"\n[[response]]\nname = \"y\"\nbetter = \"lower\"\n", set["count"], size, set["blocks"], day, swap, all)
		}
		for step := 0; ; step++ {
			_, err := plan.Parse("campaign.toml", []byte(text()))
			if err == nil {
				return
			}
			faults := fault.In(err)
			before := fmt.Sprint(set)
			for _, f := range faults {
				m := advice.FindStringSubmatch(f.Error() + ": ")
				if m == nil {
					if !strings.Contains(f.Error(), "allow that") {
						t.Fatalf("%s\nno advice in %v", text(), f)
					}
					return // nothing of the kind fits
				}
				advised++
				for key, value := range map[string]string{m[1]: m[2], "count": m[3] + m[5], "blocks": m[4] + m[6]} {
					if key != "" && value != "" {
						set[key] = value
					}
				}
				// Advice is on one limit: taking it may exceed the other, whose advice is taken next.
				break
			}
			if fmt.Sprint(set) == before || step > 3 {
				t.Fatalf("%s\nthe advice does not help: %v", text(), err)
			}
		}
	})
	if advised == 0 {
		t.Error("no plan took too long")
	}
}

// sessionFaultCases are those of sessions, of items that come back, and of hours; see faultCases.
var sessionFaultCases = []faultCase{
	{"sessions without blocks", map[string]string{"rest": "[§session]\nname = \"day\"\n"}, []string{
		`[session] has no blocks; add blocks = 3: how many blocks one session holds; how many sessions there are follows`}},
	{"sessions by their number", map[string]string{"rest": "[session]\nblocks = 2\n§count = 3\n"}, []string{
		`unknown key "count" in [session]; allowed: name, blocks, hours`}},
	{"sessions of none", map[string]string{"rest": "[session]\nblocks = §0\nhours = §\"11 h 30\"\n"}, []string{
		`blocks is 0; write a whole number, 1 or more`,
		`hours is "11 h 30"; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`}},
	{"sessions called like the blocks", map[string]string{"block": "[block]\nname = \"day\"\ncount = 2\nreplicates = 2\n", "rest": "[session]\nname = §\"Day\"\nblocks = 2\n"}, []string{
		`the session "Day" has the name of the block at line 7; choose another name: each heads its own column, and capitals do not tell them apart`}},
	{"hours of a session without a budget", map[string]string{"rest": "[session]\nname = \"day\"\nblocks = 2\nhours = §\"6 h\"\n"}, []string{
		`hours limits a day, but nothing says how long a run takes; add [budget], with run = "40 s" and rest = "3 min"`}},
	{"hours beyond belief", map[string]string{"rest": "[session]\nblocks = 2\nhours = §\"200 h 90 h\"\n[budget]\nrun = \"40 s\"\nhours = §\"241 h\"\n"}, []string{
		`hours is "200 h 90 h"; write a time and its unit (s, min, h), such as "40 s" or "1 min 30 s"`,
		`hours is "241 h"; keep it within 240 h`}},
	// A pack is 6 runs of 10 min; with no rest and no swap two make 2 h.
	{"sessions that are too long", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 7\nreplicates = 2\n",
		"rest": "[session]\nname = \"day\"\nblocks = 4\nhours = §\"2 h 30 min\"\n[budget]\nrun = \"10 min\"\n"}, []string{
		`a day of 4 packs takes about 4 h, and hours allows 2 h 30 min; write blocks = 2: 4 days of about 2 h`}},
	{"blocks that are longer than a session", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 4\nreplicates = 2\n",
		"rest": "[session]\nname = \"day\"\nblocks = 4\nhours = §\"40 min\"\n[budget]\nrun = \"10 min\"\n"}, []string{
		`a day of 4 packs takes about 4 h, and hours allows 40 min; write replicates = 1 and count = 8 in [block], and blocks = 1 here: 8 days`}},
	{"runs that are longer than a session", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 4\nreplicates = 2\n",
		"rest": "[session]\nname = \"day\"\nblocks = 4\nhours = §\"15 min\"\n[budget]\nrun = \"10 min\"\n"}, []string{
		`a day of 4 packs takes about 4 h, and hours allows 15 min; 1 pack takes about 1 h: allow that, or shorten the run or the rest`}},
	{"a campaign that is too long", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 9\nreplicates = 2\n",
		"rest": "[budget]\nrun = \"10 min\"\nhours = §\"5 h 30 min\"\n"}, []string{
		`9 packs of 6 runs take about 9 h, and hours allows 5 h 30 min; write count = 5: about 5 h`}},
	{"a campaign that is too long for its looks", map[string]string{"block": "[block]\nname = \"pack\"\ncount = 9\nreplicates = 2\n",
		"rest": "[analysis]\nlooks = 7\n[budget]\nrun = \"10 min\"\nhours = §\"5 h 30 min\"\n"}, []string{
		`9 packs of 6 runs take about 9 h, and hours allows 5 h 30 min; write replicates = 1: about 4 h 30 min`}},
	{"a campaign that cannot be short enough", map[string]string{"rest": "[budget]\nrun = \"10 min\"\nhours = §\"30 min\"\n"}, []string{
		`2 packs of 6 runs take about 2 h, and hours allows 30 min; the fewest packs that answer the plan's question take about 1 h: allow that, shorten the run or the rest, or take treatments out`}},
	{"items without labels", map[string]string{"rest": "[§items]\nname = \"cell\"\n"}, []string{
		`[items] has no labels; add labels = ["P1", "P2", "P3"]: what is written on each`}},
	{"one item", map[string]string{"rest": "[items]\nlabels = §[\"P1\"]\n"}, []string{
		`labels is a list of 1; write a list of two or more different labels, such as ["P1", "P2", "P3"]`}},
	{"labels at fault", map[string]string{"rest": "[items]\nlabels = [§1, \"P1\", §\"p1\", §\" P2\"]\n"}, []string{
		`a label is the number 1; put it in quotes: "1"`,
		`the label "p1" stands twice; give each its own: capitals do not tell them apart`,
		`a label is " P2", with blanks at its ends; write "P2"`}},
	{"labels of another type", map[string]string{"rest": "[items]\nlabels = §\"P1\"\n"}, []string{
		`labels is the text "P1"; write a list of two or more different labels, such as ["P1", "P2", "P3"]`}},
	{"more items than blocks", map[string]string{"rest": "[items]\nname = \"cell\"\nlabels = §[\"P1\", \"P2\", \"P3\"]\n"}, []string{
		`3 cells are more than the 2 packs of the plan: some would not be used; take 1 of them out, or write count = 3 or more in [block]`}},
	{"items called like a check", map[string]string{"rest": "[items]\nname = §\"start_volts\"\nlabels = [\"P1\", \"P2\"]\n"}, []string{
		`the item "start_volts" has the name of a reading of every sheet; choose another name: each heads its own column, and capitals do not tell them apart`}},
}
