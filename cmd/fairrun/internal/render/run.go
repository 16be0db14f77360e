package render

import (
	"fmt"
	"strings"

	"fairrun/design"
	"fairrun/design/sheet"
)

// Next shows the run to do next and how to record it; in is what has to follow
// a command to name the campaign's folder.
func Next(s *sheet.Sheet, in string) *Document {
	d := &Document{}
	done := 0
	for i := range s.Runs {
		if s.Runs[i].Status != sheet.ToDo {
			done++
		}
	}
	d.Text("%d of %d runs done.", done, len(s.Runs))
	next(d, s.Campaign, s.Next(), in)
	return d
}

// Recorded says what was stored and which run comes next, with in as for Next.
func Recorded(c *design.Plan, r *sheet.Recorded, in string) *Document {
	d := &Document{}
	d.Text("%s", stored(c, r))
	next(d, c, r.Next, in)
	return d
}

// stored says what a run holds now.
func stored(c *design.Plan, r *sheet.Recorded) string {
	parts := []string{}
	for k, f := range c.Factors {
		parts = append(parts, f.Name+" = "+withUnit(r.Run.Levels[k], f.Unit))
	}
	for k, check := range c.Readings {
		if v := r.Run.Readings[k]; v != "" {
			parts = append(parts, check.Name+" = "+withUnit(v, check.Unit))
		}
	}
	for k, response := range c.Responses {
		if v := r.Run.Values[k]; v != "" {
			parts = append(parts, response.Name+" = "+withUnit(v, response.Unit))
		}
	}
	if r.Run.Note != "" {
		parts = append(parts, fmt.Sprintf("note %q", r.Run.Note))
	}
	verb := "stored"
	if !r.Changed {
		verb = "was there already"
	}
	status := string(r.Run.Status)
	if status == "" {
		status = "to do"
	}
	return fmt.Sprintf("Run %d (%s) %s: %s.", r.Run.Run, status, verb, strings.Join(parts, ", "))
}

// next shows a run that is to be done.
func next(d *Document, c *design.Plan, r *sheet.Run, in string) {
	if r == nil {
		d.Text("All runs are done. Next:\n  fairrun verdict%s", strings.TrimPrefix(in, " --in"))
		return
	}
	settings := make([]string, len(c.Factors))
	for k, f := range c.Factors {
		settings[k] = f.Name + " = " + withUnit(r.Levels[k], f.Unit)
	}
	role := ""
	switch r.Role {
	case sheet.Warmup:
		role = ", a warm-up run"
	case sheet.Reference:
		role = ", a reference run"
	}
	d.Text("Next is run %d, %s %d, position %d of %d%s: %s.", r.Run, c.Block.Name, r.Block, r.Position, c.RunsPerBlock(), role, strings.Join(settings, ", "))
	if r.Position == 1 {
		begins(d, c, r)
		if r.Specimen > 0 {
			d.Text("This %s is for %s %d.", c.Block.Name, c.Specimens.Name, r.Specimen)
		}
	}
	if r.Role == sheet.Warmup {
		d.Text("It is not analysed and has no response to record; once it is made:\n  fairrun record %d status=ok%s", r.Run, in)
		return
	}
	values := make([]string, len(c.Responses))
	for k, response := range c.Responses {
		values[k] = response.Name + "=…"
	}
	d.Text("  fairrun record %d %s%s", r.Run, strings.Join(values, " "), in)
}

// begins says what a block that a run is the first of begins with.
func begins(d *Document, c *design.Plan, r *sheet.Run) {
	if r.Session > 0 && (r.Block == 1 || c.Session.Of(r.Block-1) != r.Session) {
		d.Text("A new %s begins, %s: %s.", c.Session.Name, sessionName(c, r.Session, c.Block.Count), numbered(c.Block, r.Block, min(r.Block+c.Session.Blocks-1, c.Block.Count)))
	}
	if r.Item > 0 {
		d.Text("It is the first of a %s: begin on %s %s, fresh.", c.Block.Name, c.Items.Name, c.Items.Label(r.Item))
		return
	}
	d.Text("It is the first of a %s: begin with a fresh one.", c.Block.Name)
}

// numbered says "pack 4" or "packs 4 to 6".
func numbered(b design.Block, from, to int) string {
	if from == to {
		return fmt.Sprintf("%s %d", b.Name, from)
	}
	return fmt.Sprintf("%s %d to %d", b.Plural(), from, to)
}
