package render

import (
	"fmt"
	"slices"
	"strconv"

	"fairrun/design/analysis"
	"fairrun/stats/verdict"
)

// Replicates lays out how many blocks it takes.
func Replicates(r *analysis.Replicates) *Document {
	d := &Document{}
	d.Heading("%s", r.Campaign.Title)
	what := fmt.Sprintf("How many %s it takes to find a true difference as large as the margin with a chance of %s %%, while the chance of any false alarm among %s stays at %s %%",
		plural(r.Block), short(verdict.Number(100*r.Power), 3), familyWords[r.Compare], short(verdict.Number(100*r.Alpha), 3))
	switch {
	case r.Stage == analysis.After:
		d.Text("%s; counted on top of what is done, from the noise measured so far.", what)
	case r.Pilot != "":
		d.Text("%s; from the noise that the pilot in %s measured.", what, r.Pilot)
	case r.Rig != "":
		d.Text("%s; from the noise that is assumed or that is kept of %s, as said below.", what, r.Rig)
	default:
		d.Text("%s; from the noise that is assumed.", what)
	}
	if r.Looks > 1 {
		d.Text("%d looks are planned: they take %s %% more runs than one would, which is counted in.", r.Looks, short(100*(r.Inflation-1), 2))
	}
	if r.Units > 1 && r.Stage == analysis.Before {
		d.Text("The %d units are taken to answer alike; where they do not, it takes more units, not more runs.", r.Units)
	}
	if r.Spread.Known() {
		d.Text("Whole plots of one setting are taken to vary %s times as much as runs within one do; a pilot tells, and --spread says otherwise.", short(r.Spread, 3))
	}
	for i := range r.Responses {
		enough(d, r, &r.Responses[i])
	}
	return d
}

var familyWords = map[string]string{
	"pairs":    "all pairs",
	"baseline": "the comparisons with the baseline",
	"best":     "the comparisons with the best",
}

// enough lays out one response.
func enough(d *Document, r *analysis.Replicates, e *analysis.Enough) {
	say := inMargin(e)
	title := e.Name
	if e.Margin != nil {
		title += ": margin " + say(verdict.Number(e.Margin.Value))
	}
	if e.Noise.SD.Known() {
		title += ", noise " + say(e.Noise.SD)
		if e.Noise.Measured && e.Noise.Low.Known() {
			title += fmt.Sprintf(" (between %s and %s)", say(e.Noise.Low), say(e.Noise.High))
		}
	}
	d.Heading("%s", title)
	if n := e.Noise; n.Source != "" {
		kept := ""
		if n.Kept.Known() {
			kept = ": " + say(n.Kept)
		}
		d.Text("The noise is %s%s.", n.Source, kept)
	}
	if e.Message != "" {
		d.Text("No number: %s.", e.Message)
	}
	if e.Caution != "" {
		d.Text("Caution: %s.", e.Caution)
	}
	for i := range e.Sizes {
		size(d, r, e, &e.Sizes[i], say)
	}
	split(d, e, say)
}

// split lays out how runs are best shared out.
func split(d *Document, e *analysis.Enough, say func(verdict.Number) string) {
	s := e.Split
	if s == nil {
		return
	}
	if s.Sentence != "" {
		d.Text("%s.", s.Sentence)
	}
	if len(s.Layouts) == 0 {
		return
	}
	t := Table{Align: "r", Head: []string{plural(s.Item)}}
	column := func(head string) { t.Align, t.Head = t.Align+"r", append(t.Head, head) }
	hours := slices.ContainsFunc(s.Layouts, func(l analysis.Layout) bool { return l.Hours.Known() })
	if s.Within != "" {
		column(s.Within + "s on each")
	}
	column(s.Each)
	column("runs")
	column("standard error of a difference")
	if hours {
		column("hours")
	}
	for _, l := range s.Layouts {
		row := []string{strconv.Itoa(l.Items)}
		if s.Within != "" {
			row = append(row, strconv.Itoa(l.Within))
		}
		row = append(row, strconv.Itoa(l.Repeats), strconv.Itoa(l.Runs), say(l.SE))
		if hours {
			row = append(row, short(l.Hours, 2))
		}
		t.Rows = append(t.Rows, row)
	}
	d.Text("%s, with up to %d runs in a campaign:", s.Factor, s.Runs)
	d.Table(t)
}

// inMargin writes a difference in the terms of the margin.
func inMargin(e *analysis.Enough) func(verdict.Number) string {
	if e.Margin != nil && e.Margin.Relative {
		return func(n verdict.Number) string { return short(100*n, 3) + " %" }
	}
	return func(n verdict.Number) string { return withUnit(short(n, 3), e.Unit) }
}

// size lays out one family of comparisons.
func size(d *Document, r *analysis.Replicates, e *analysis.Enough, z *analysis.Size, say func(verdict.Number) string) {
	hours := false
	for _, p := range z.Curve {
		hours = hours || p.Hours.Known()
	}
	t := Table{Align: "rrrrrrl", Head: []string{plural(r.Block), "runs", "runs per level", "chance", "detectable", "equal", ""}}
	if r.Stage == analysis.After {
		t.Head[0] = "further " + t.Head[0]
	}
	if hours {
		t.Align, t.Head = "rrrrrrrl", append(t.Head[:6], "hours", "")
	}
	detectable := column(z.Curve, e)
	for k, p := range z.Curve {
		row := []string{strconv.Itoa(p.Blocks), strconv.Itoa(p.Runs), strconv.Itoa(p.PerLevel), chanceOfFinding(p.Power), detectable[k], chanceOfFinding(p.Equal)}
		if hours {
			row = append(row, short(p.Hours, 2))
		}
		t.Rows = append(t.Rows, append(row, mark(r, z, p)))
	}
	d.Text("%s, %d levels: %s", z.Factor, z.Levels, answer(r, e.Noise.Measured, z))
	if p := z.Asked; p != nil && p.Detectable.Known() {
		d.Text("With %s (%s) a true difference of %s is found with a chance of %s %%.", many(p.Blocks, furtherBlock(r)), runsAndHours(p), say(p.Detectable), short(verdict.Number(100*r.Power), 3))
	}
	d.Table(t)
	for _, o := range z.Open {
		if o.Blocks == nil {
			d.Text("Unresolved: %s against %s; no affordable number of %s would settle it.", o.Level, o.Against, plural(r.Block))
		} else {
			d.Text("Unresolved: %s against %s; %s would settle it.", o.Level, o.Against, many(*o.Blocks, "further "+r.Block))
		}
	}
}

// chanceOfFinding writes a power; none is certain.
func chanceOfFinding(p verdict.Number) string {
	if p.Known() && p > 0.999 {
		return ">99.9 %"
	}
	return digits(100*p, 1) + " %"
}

// column writes the detectable differences, all with as many decimals as show
// the smallest to three figures.
func column(curve []analysis.Point, e *analysis.Enough) []string {
	unit, times := e.Unit, verdict.Number(1)
	if e.Margin != nil && e.Margin.Relative {
		unit, times = "%", 100
	}
	least := verdict.Unknown
	for _, p := range curve {
		if p.Detectable.Known() && !(p.Detectable >= least) {
			least = p.Detectable
		}
	}
	out := make([]string, len(curve))
	for k, p := range curve {
		out[k] = withUnit(digits(times*p.Detectable, decimals(times*least/10)), unit)
	}
	return out
}

// answer says the number needed.
func answer(r *analysis.Replicates, measured bool, z *analysis.Size) string {
	if z.Needed == nil {
		return fmt.Sprintf("no affordable number of %s would do, not even %d; widen the margin, or make the bench quieter.", plural(r.Block), z.Most)
	}
	text := fmt.Sprintf("%s (%s)", many(z.Needed.Blocks, furtherBlock(r)), runsAndHours(z.Needed))
	if z.Needed.Blocks == 0 {
		text = "what is done is enough"
	}
	if z.Low != nil && z.High != nil {
		text += fmt.Sprintf("; between %d and %d as far as the noise is known", z.Low.Blocks, z.High.Blocks)
	} else if measured && z.High == nil {
		text += fmt.Sprintf("; if the noise is as high as it may be, no affordable number of %s", plural(r.Block))
	}
	if z.Assured != nil && z.Assured.Blocks != z.Needed.Blocks {
		text += fmt.Sprintf("; plan with %d to be on the safe side", z.Assured.Blocks)
	}
	if z.Settled != nil {
		text += fmt.Sprintf(". To leave no comparison unresolved, whatever its true size: %d", z.Settled.Blocks)
	}
	if z.Equal != nil {
		text += fmt.Sprintf(". To show levels that do not differ to be equal within the margin: %d", z.Equal.Blocks)
	}
	return text + "."
}

// furtherBlock is what a number of blocks counts.
func furtherBlock(r *analysis.Replicates) string {
	if r.Stage == analysis.After {
		return "further " + r.Block
	}
	return r.Block
}

// runsAndHours says what some blocks take, in runs and hours.
func runsAndHours(p *analysis.Point) string {
	text := many(p.Runs, "run")
	if p.Hours.Known() {
		text += ", " + short(p.Hours, 2) + " h"
	}
	return text
}

// mark points out a line of the table.
func mark(r *analysis.Replicates, z *analysis.Size, p analysis.Point) string {
	switch {
	case z.Needed != nil && p.Blocks == z.Needed.Blocks && p.Blocks == z.Now.Blocks && r.Stage == analysis.Before:
		return "<- as planned, and enough"
	case z.Needed != nil && p.Blocks == z.Needed.Blocks:
		return "<- enough"
	case p.Blocks == z.Now.Blocks && r.Stage == analysis.Before:
		return "<- as planned"
	case p.Blocks == z.Now.Blocks:
		return "<- as it stands"
	case z.Asked != nil && p.Blocks == z.Asked.Blocks:
		return "<- as asked"
	}
	return ""
}

// ReplicatesRows is the power curves as CSV.
func ReplicatesRows(r *analysis.Replicates) (head []string, rows [][]string) {
	head = []string{"response", "factor", "levels", "stage", "blocks", "runs", "runs_per_level", "power", "detectable", "hours", "enough", "power_equal"}
	for _, e := range r.Responses {
		for _, z := range e.Sizes {
			for _, p := range z.Curve {
				enough := z.Needed != nil && p.Blocks >= z.Needed.Blocks
				rows = append(rows, []string{e.Name, z.Factor, strconv.Itoa(z.Levels), r.Stage, strconv.Itoa(p.Blocks), strconv.Itoa(p.Runs),
					strconv.Itoa(p.PerLevel), full(p.Power), full(p.Detectable), full(p.Hours), strconv.FormatBool(enough), full(p.Equal)})
			}
		}
	}
	return head, rows
}
