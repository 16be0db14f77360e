package render

import (
	"fmt"
	"strconv"
	"strings"

	"fairrun/design/size"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Replicates says how many blocks it takes: a sentence a response, one table, and what to do next. [FullReplicates] shows what
// every other number achieves. in is what follows a command to name the campaign's folder.
func Replicates(r *size.Replicates, in string) *Document {
	d := &Document{}
	d.Heading("%s", r.Campaign.Title)
	t := sizesTable(r)
	for i := range r.Responses {
		e := &r.Responses[i]
		several := len(e.Sizes) > 1
		for k := range e.Sizes {
			d.Text("%s", sizeSentence(r, e, &e.Sizes[k], several))
			t.Rows = append(t.Rows, sizeRow(r, e, &e.Sizes[k], several))
		}
		if e.Message != "" {
			d.Text("%s: no number: %s.", e.Name, e.Message)
		}
	}
	t = t.filled()
	t.Spare = []int{len(t.Head) - 1} // what it finds now
	d.Table(t)
	noise := "the noise that is assumed"
	switch {
	case r.Stage == size.After:
		noise = "the noise measured so far"
	case r.Pilot != "":
		noise = "the noise that the pilot in " + r.Pilot + " measured"
	case r.Rig != "":
		noise = "the noise that is assumed or kept of " + r.Rig
	}
	d.Text("To find a true difference as large as the margin with a chance of %s, at a chance of %s of any false alarm among %s; from %s.",
		inTerms(verdict.Number(r.Power), true, "", 3), inTerms(verdict.Number(r.Alpha), true, "", 3), familyWords[r.Compare], noise)
	for i := range r.Responses {
		if text := r.Responses[i].Caution; text != "" {
			d.Text("Caution, %s: %s.", r.Responses[i].Name, text)
		}
	}
	if line := nextBlocks(r, in); line != "" {
		d.Text("%s", line)
	}
	d.Text("--full shows what every number of %s achieves.", r.Blocks)
	return d
}

// sizeSentence answers for one family of a response.
func sizeSentence(r *size.Replicates, e *size.ResponseSize, z *size.FamilySize, several bool) string {
	name := e.Name
	if several {
		name += ", " + z.Factors.Term()
	}
	var text string
	switch {
	case z.Needed == nil && r.Specimens > 1 && len(z.BySpecimens) > 0:
		text = fmt.Sprintf("%s: no affordable number of %s on %s would do", name, r.Blocks, words.Count(r.Specimens, r.Specimen))
		if n := z.NeededSpecimens; n != nil {
			text += fmt.Sprintf("; %s in all would (%s)", words.Count(n.Specimens, r.Specimen), runsAndHours(&n.Point))
		}
	case z.Needed == nil:
		text = fmt.Sprintf("%s: no affordable number of %s would do, not even %d; widen the margin, or make the bench quieter", name, r.Blocks, z.Most)
	case z.Needed.Blocks == 0:
		text = fmt.Sprintf("%s: what is done is enough", name)
	case r.Stage == size.Before && z.Needed.Blocks <= z.Now.Blocks:
		text = fmt.Sprintf("%s: the %s planned are enough; %d would do", name, words.CountOf(z.Now.Blocks, r.Block, r.Blocks), z.Needed.Blocks)
		if z.Needed.Blocks == z.Now.Blocks {
			text = fmt.Sprintf("%s: the %s planned are enough", name, words.CountOf(z.Now.Blocks, r.Block, r.Blocks))
		}
	default:
		text = fmt.Sprintf("%s: %s %s enough (%s)", name, countFurther(r, z.Needed.Blocks), words.Agree(z.Needed.Blocks, "is", "are"), runsAndHours(z.Needed))
	}
	if z.Needed != nil && z.Assured != nil && z.Assured.Blocks != z.Needed.Blocks {
		text += fmt.Sprintf("; plan %d to be safe", z.Assured.Blocks)
	}
	text += "."
	if p := z.Asked; p != nil && p.Detectable.Known() {
		text += fmt.Sprintf(" With %s (%s) it finds %s.", countFurther(r, p.Blocks), runsAndHours(p), detects(e, p.Detectable))
	}
	return text + sameRuns(r, z) + openWords(r, z)
}

// openWords says what is unresolved, and what would settle it.
func openWords(r *size.Replicates, z *size.FamilySize) string {
	var names []string
	most, never := 0, false
	for _, o := range z.Open {
		names = append(names, o.Level+" against "+o.Against)
		if never = never || o.Needed == nil; o.Needed != nil {
			most = max(most, o.Needed.Blocks)
		}
	}
	switch {
	case names == nil:
		return ""
	case never:
		return fmt.Sprintf(" Unresolved: %s; no affordable number of %s settles all of it.", openList(names), r.Blocks)
	}
	return fmt.Sprintf(" Unresolved: %s; %s %s it.", openList(names), countFurther(r, most), words.Agree(most, "settles", "settle"))
}

// sizesTable is the table of [Replicates] without its rows.
func sizesTable(r *size.Replicates) Table {
	blocks := r.Blocks
	if r.Stage == size.After {
		blocks = "further " + blocks
	}
	return Table{Align: "lrrrrrrrr", Tight: true, Keys: 1, Head: []string{"response", "margin", "noise", blocks, "safe", "runs", "time", "chance now", "finds now"}}
}

// sizeRow is a family's row of it.
func sizeRow(r *size.Replicates, e *size.ResponseSize, z *size.FamilySize, several bool) []string {
	name := e.Name
	if several {
		name += ", " + z.Factors.Term()
	}
	say := inMargin(e)
	row := []string{name, "", say(e.Noise.SD), none, "", "", "", chanceOfFinding(z.Now.Power), detects(e, z.Now.Detectable)}
	if e.Margin != nil {
		row[1] = say(verdict.Number(e.Margin.Value))
	}
	n := z.Needed
	if n == nil {
		return row
	}
	row[3], row[5] = strconv.Itoa(n.Blocks), strconv.Itoa(n.Runs)
	if z.Assured != nil {
		row[4] = strconv.Itoa(z.Assured.Blocks)
	}
	if n.Hours.Known() {
		row[6] = timeOf(n.Hours)
	}
	return row
}

// detects writes the smallest difference found, to three figures.
func detects(e *size.ResponseSize, n verdict.Number) string {
	unit := e.Unit
	if e.Margin != nil && e.Margin.Relative {
		n, unit = 100*n, "%"
	}
	return withUnit(digits(n, decimals(n/10)), unit)
}

// filled is a table without the columns that hold nothing.
func (t Table) filled() Table {
	var keep []int
	for c := range t.Head {
		for _, row := range t.Rows {
			if strings.Trim(row[c], none) != "" {
				keep = append(keep, c)
				break
			}
		}
	}
	return t.only(keep)
}

// nextBlocks says what to do next as a command; "" where no number of blocks is enough.
func nextBlocks(r *size.Replicates, in string) string {
	most, now := 0, 0
	for _, e := range r.Responses {
		for _, z := range e.Sizes {
			now = z.Now.Blocks
			switch {
			case z.Needed == nil:
			case z.Assured != nil:
				most = max(most, z.Assured.Blocks)
			default:
				most = max(most, z.Needed.Blocks)
			}
		}
	}
	switch {
	case r.Stage == size.After && most > 0:
		return fmt.Sprintf("Next, for all of them: %s", command("extend%s --blocks %d", in, most))
	case r.Stage == size.After:
		return ""
	case most > now:
		return fmt.Sprintf("Next: count = %d under [block] in the plan, or a wider margin; then %s", most, command("sheet%s", in))
	case most > 0:
		return fmt.Sprintf("Next: %s", command("sheet%s", in))
	}
	return ""
}
