package render

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"fairrun/design/size"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// FullReplicates lays out how many blocks it takes, and what every other number achieves.
func FullReplicates(r *size.Replicates) *Document {
	d := &Document{}
	d.Heading("%s", r.Campaign.Title)
	what := fmt.Sprintf("How many %s it takes to find a true difference as large as the margin with a chance of %s %%, while the chance of any false alarm among %s stays at %s %%",
		r.Blocks, short(verdict.Number(100*r.Power), 3), familyWords[r.Compare], short(verdict.Number(100*r.Alpha), 3))
	switch {
	case r.Stage == size.After:
		d.Text("%s; counted on top of what is done, from the noise measured so far.", what)
	case r.Pilot != "":
		d.Text("%s; from the noise that the pilot in %s measured.", what, r.Pilot)
	case r.Rig != "":
		d.Text("%s; from the noise that is assumed or that is kept of %s, as said below.", what, r.Rig)
	default:
		d.Text("%s; from the noise that is assumed.", what)
	}
	if l := r.Looks; l != nil {
		d.Text("%d looks are planned: they take %s %% more runs than one would, which is counted in.", l.Of, short(100*(l.Inflation-1), 2))
	}
	if r.WholePlotNoise.Known() {
		d.Text("Whole plots of one setting are taken to vary %s times as much as runs within one do; a pilot tells, and --whole-plot-noise says otherwise.", short(r.WholePlotNoise, 3))
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
func enough(d *Document, r *size.Replicates, e *size.ResponseSize) {
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
	switch {
	case !e.Interplay.Known():
	case r.Specimens > 1:
		specimenWords(d, r, e)
	default:
		d.Text("Judged by how far %s agree, which are taken to answer differently to each level by %s of the noise (assumed, unless a pilot or interplay in [simulation] says otherwise).",
			r.Blocks, inTerms(e.Interplay, true, "", 3))
	}
	if e.Message != "" {
		d.Text("No number: %s.", e.Message)
	}
	if e.Caution != "" {
		d.Text("Caution: %s.", e.Caution)
	}
	for i := range e.Sizes {
		familySize(d, r, e, &e.Sizes[i], say)
	}
	allocation(d, e, say)
}

// specimenWords says by what specimens are judged, and what they are taken to differ by.
func specimenWords(d *Document, r *size.Replicates, e *size.ResponseSize) {
	differ := "differently to each level by " + inTerms(e.Interplay, true, "", 3) + " of the noise (standard deviation)"
	if e.Interplay == 0 {
		differ = "alike"
	}
	switch {
	case r.Stage == size.After:
		d.Text("Judged by how far %d %s agree, which answered %s: more runs of the same add no degrees of freedom, more %s do.",
			r.Specimens, specimenPlural(r), differ, specimenPlural(r))
	default:
		d.Text("Judged by how far %d %s agree, which are taken to answer %s, as \"fairrun rehearse\" or the pilot has it; interplay in [simulation] says otherwise.",
			r.Specimens, specimenPlural(r), differ)
	}
}

func specimenPlural(r *size.Replicates) string { return words.Plural(r.Specimen) }

// bySpecimens lays out how many specimens would do.
func bySpecimens(d *Document, r *size.Replicates, e *size.ResponseSize, z *size.FamilySize) {
	if len(z.BySpecimens) == 0 {
		return
	}
	specimens := specimenPlural(r)
	hours := slices.ContainsFunc(z.BySpecimens, func(p size.SpecimensPoint) bool { return p.Hours.Known() })
	t := Table{Align: "rrrrrrl", Head: []string{specimens, r.Blocks, "runs", "chance", "detectable", "equal", ""}}
	if hours {
		t.Align, t.Head = "rrrrrrrl", append(t.Head[:6], "time", "")
	}
	points := make([]size.Point, len(z.BySpecimens))
	for k, p := range z.BySpecimens {
		points[k] = p.Point
	}
	detectable := column(points, e)
	for k, p := range z.BySpecimens {
		row := []string{strconv.Itoa(p.Specimens), strconv.Itoa(p.Blocks), strconv.Itoa(p.Runs), chanceOfFinding(p.Power), detectable[k], chanceOfFinding(p.Equal)}
		if hours {
			row = append(row, timeOf(p.Hours))
		}
		note := ""
		switch {
		case z.NeededSpecimens != nil && p.Specimens == z.NeededSpecimens.Specimens:
			note = "<- enough"
		case p.Specimens == r.Specimens && r.Stage == size.After:
			note = "<- as it stands"
		case p.Specimens == r.Specimens:
			note = "<- as planned"
		}
		t.Rows = append(t.Rows, append(row, note))
	}
	each := z.BySpecimens[0].Blocks / z.BySpecimens[0].Specimens
	text := fmt.Sprintf("no number of %s that was tried would do", specimens)
	if n := z.NeededSpecimens; n != nil {
		text = fmt.Sprintf("%s in all would do (%s)", words.Count(n.Specimens, r.Specimen), runsAndHours(&n.Point))
	}
	d.Text("%s, more %s instead, with %s on each: %s.", z.Factors.Term(), specimens, words.CountOf(each, r.Block, r.Blocks), text)
	d.Table(t)
}

// allocation lays out how runs are best shared out.
func allocation(d *Document, e *size.ResponseSize, say func(verdict.Number) string) {
	s := e.Allocation
	if s == nil {
		return
	}
	if s.Sentence != "" {
		d.Text("%s.", s.Sentence)
	}
	if len(s.Alternatives) == 0 {
		return
	}
	t := Table{Align: "r", Head: []string{s.Several}}
	column := func(head string) { t.Align, t.Head = t.Align+"r", append(t.Head, head) }
	hours := slices.ContainsFunc(s.Alternatives, func(l size.Alternative) bool { return l.Hours.Known() })
	if s.Within != "" {
		column(s.SeveralWithin + " on each")
	}
	column(s.Each)
	column("runs")
	column("standard error")
	column("df")
	column("chance")
	if hours {
		column("time")
	}
	for _, l := range s.Alternatives {
		row := []string{strconv.Itoa(l.Items)}
		if s.Within != "" {
			row = append(row, strconv.Itoa(l.Within))
		}
		row = append(row, strconv.Itoa(l.Repeats), strconv.Itoa(l.Runs), say(l.SE), short(l.DF, 3), chanceOfFinding(l.Power))
		if hours {
			row = append(row, timeOf(l.Hours))
		}
		t.Rows = append(t.Rows, row)
	}
	d.Text("%s, with up to %d runs in a campaign:", s.Factors.Term(), s.Runs)
	d.Table(t)
}

// inMargin writes a difference in the terms of the margin.
func inMargin(e *size.ResponseSize) func(verdict.Number) string {
	if e.Margin != nil && e.Margin.Relative {
		return func(n verdict.Number) string { return short(100*n, 3) + " %" }
	}
	return func(n verdict.Number) string { return withUnit(short(n, 3), e.Unit) }
}

// familySize lays out one family of comparisons.
func familySize(d *Document, r *size.Replicates, e *size.ResponseSize, z *size.FamilySize, say func(verdict.Number) string) {
	hours := false
	for _, p := range z.Curve {
		hours = hours || p.Hours.Known()
	}
	t := Table{Tight: true, Spare: []int{2}, Align: "rrrrrrl", Head: []string{r.Blocks, "runs", "per level", "chance", "detectable", "equal", ""}}
	if r.Stage == size.After {
		t.Head[0] = "further " + t.Head[0]
	}
	if hours {
		t.Align, t.Head = "rrrrrrrl", append(t.Head[:6], "time", "")
	}
	detectable := column(z.Curve, e)
	for k, p := range z.Curve {
		row := []string{strconv.Itoa(p.Blocks), strconv.Itoa(p.Runs), strconv.Itoa(p.PerLevel), chanceOfFinding(p.Power), detectable[k], chanceOfFinding(p.Equal)}
		if hours {
			row = append(row, timeOf(p.Hours))
		}
		t.Rows = append(t.Rows, append(row, mark(r, z, p)))
	}
	d.Text("%s, %d levels: %s", z.Factors.Term(), len(z.Levels), numberNeeded(r, e.Noise.Measured, z))
	if p := z.Asked; p != nil && p.Detectable.Known() {
		d.Text("With %s (%s) a true difference of %s is found with a chance of %s %%.", countFurther(r, p.Blocks), runsAndHours(p), say(p.Detectable), short(verdict.Number(100*r.Power), 3))
	}
	d.Table(t)
	bySpecimens(d, r, e, z)
	for _, o := range z.Open {
		if o.Needed == nil {
			d.Text("Unresolved: %s against %s; no affordable number of %s would settle it.", o.Level, o.Against, r.Blocks)
		} else {
			d.Text("Unresolved: %s against %s; %s would settle it.", o.Level, o.Against, words.CountOf(o.Needed.Blocks, "further "+r.Block, "further "+r.Blocks))
		}
	}
}

// chanceOfFinding writes a power; none is certain.
func chanceOfFinding(p verdict.Number) string {
	switch {
	case !p.Known():
		return none
	case p > 0.999:
		return ">99.9 %"
	}
	return digits(100*p, 1) + " %"
}

// column writes the detectable differences, all with as many decimals as show
// the smallest to three figures.
func column(curve []size.Point, e *size.ResponseSize) []string {
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

// numberNeeded says how many blocks it takes.
func numberNeeded(r *size.Replicates, measured bool, z *size.FamilySize) string {
	if z.Needed == nil && r.Specimens > 1 && len(z.BySpecimens) > 0 {
		return fmt.Sprintf("no affordable number of %s on %s would do, not even %d: %s too few, however many runs they make.", r.Blocks, words.Count(r.Specimens, r.Specimen), z.Most, areFew(r.Specimens))
	}
	if z.Needed == nil {
		return fmt.Sprintf("no affordable number of %s would do, not even %d; widen the margin, or make the bench quieter.", r.Blocks, z.Most)
	}
	text := fmt.Sprintf("%s (%s)", countFurther(r, z.Needed.Blocks), runsAndHours(z.Needed))
	if z.Needed.Blocks == 0 {
		text = "what is done is enough"
	}
	if z.Low != nil && z.High != nil {
		text += fmt.Sprintf("; between %d and %d as far as the noise is known", z.Low.Blocks, z.High.Blocks)
	} else if measured && z.High == nil {
		text += fmt.Sprintf("; if the noise is as high as it may be, no affordable number of %s", r.Blocks)
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

// areFew says that so many are.
func areFew(n int) string {
	words := map[int]string{2: "two are", 3: "three are", 4: "four are"}
	if w, known := words[n]; known {
		return w
	}
	return "they are"
}

// further is what stands before blocks that come on top of those done.
func further(r *size.Replicates) string {
	if r.Stage == size.After {
		return "further "
	}
	return ""
}

// countFurther puts a number of blocks into words.
func countFurther(r *size.Replicates, n int) string {
	return words.CountOf(n, further(r)+r.Block, further(r)+r.Blocks)
}

// timeOf says a number of hours as people do: "37 min".
func timeOf(h verdict.Number) string {
	if !h.Known() {
		return none
	}
	return hours(time.Duration(float64(h) * float64(time.Hour)))
}

// runsAndHours says what some blocks take, in runs and time.
func runsAndHours(p *size.Point) string {
	text := words.Count(p.Runs, "run")
	if p.Hours.Known() {
		text += ", " + timeOf(p.Hours)
	}
	return text
}

// mark points out a line of the table.
func mark(r *size.Replicates, z *size.FamilySize, p size.Point) string {
	switch {
	case z.Needed != nil && p.Blocks == z.Needed.Blocks && p.Blocks == z.Now.Blocks && r.Stage == size.Before:
		return "<- planned, enough"
	case z.Needed != nil && p.Blocks == z.Needed.Blocks:
		return "<- enough"
	case p.Blocks == z.Now.Blocks && r.Stage == size.Before:
		return "<- as planned"
	case p.Blocks == z.Now.Blocks:
		return "<- as it stands"
	case z.Asked != nil && p.Blocks == z.Asked.Blocks:
		return "<- as asked"
	}
	return ""
}

// ReplicatesRows is the power curves as CSV.
func ReplicatesRows(r *size.Replicates) (head []string, rows [][]string) {
	head = []string{"response", "factors", "level_count", "stage", "blocks", "runs", "runs_per_level", "power", "detectable", "hours", "enough", "power_equal"}
	for _, e := range r.Responses {
		for _, z := range e.Sizes {
			for _, p := range z.Curve {
				enough := z.Needed != nil && p.Blocks >= z.Needed.Blocks
				rows = append(rows, []string{e.Name, z.Factors.Term(), strconv.Itoa(len(z.Levels)), r.Stage, strconv.Itoa(p.Blocks), strconv.Itoa(p.Runs),
					strconv.Itoa(p.PerLevel), full(p.Power), full(p.Detectable), full(p.Hours), strconv.FormatBool(enough), full(p.Equal)})
			}
		}
	}
	return head, rows
}
