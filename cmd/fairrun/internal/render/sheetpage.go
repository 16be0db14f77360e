package render

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strconv"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/design/cost"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// sheetTemplate is the printable sheet: one file that needs nothing else, in black on white, for A4 and
// Letter alike.
//
//go:embed sheet.html
var sheetTemplate string

var sheetPage = template.Must(template.New("sheet").Parse(sheetTemplate))

const (
	// widestUpright is how many columns are printed on upright paper; more are printed across.
	widestUpright = 9
	// widestLoose is how many are printed in the usual size; more are printed small, under turned
	// headings.
	widestLoose = 14
)

type page struct {
	Title, Scope, Cost, Rest string
	Cautions                 []string
	Across, Dense            bool
	Head                     []pageHead
	Columns                  int
	Blocks                   []pageBlock
	Foot                     string
}

// pageHead is a column: a name with what is below it in small print.
type pageHead struct{ Name, Small, Class string }

type pageBlock struct {
	Session string // "day 2 of 4: 3 packs, about 2 h" before its first block
	Name    string // "pack 2 of 4", or "charge 2 of 12, pack P1"
	What    string // "pack": whose label is to be noted; "" where it is known
	Rows    []pageRow
}

type pageRow struct {
	Cells  []pageCell
	Role   string
	Begins bool // a whole plot
	Status string
}

// pageCell is the text of a cell; an empty one with class "write" is a box to write in.
type pageCell struct{ Text, Class string }

// SheetPage writes the sheet as a page to print and fill in by hand. What is entered already is printed.
func SheetPage(w io.Writer, s *sheet.Sheet) error {
	c, o := s.Campaign, &s.Draw.Order
	p := page{Title: c.Title, Scope: c.Scope, Cost: takes(s), Rest: rests(c), Cautions: design.Cautions(),
		Foot: fmt.Sprintf("%s · %s · seed %d · plan %s", c.Title, c.Scope, o.Seed, shortHash(s.Draw.Hash))}
	p.head(s)
	for i := range s.Runs {
		r := &s.Runs[i]
		for len(p.Blocks) < r.Block {
			p.Blocks = append(p.Blocks, p.block(s, r))
		}
		b := &p.Blocks[r.Block-1]
		b.Rows = append(b.Rows, p.row(s, r))
	}
	return sheetPage.Execute(w, p)
}

// block begins the block of a run.
func (p *page) block(s *sheet.Sheet, r *sheet.Run) pageBlock {
	c, blocks := s.Campaign, len(s.Draw.Order.Blocks)
	b := pageBlock{Name: fmt.Sprintf("%s %d of %d", c.Block.Name, len(p.Blocks)+1, blocks), What: c.Block.Name}
	if r.Item > 0 {
		b.Name += ", " + c.Items.Name + " " + c.Items.Label(r.Item)
		b.What = ""
	}
	if r.Session > 0 && (len(p.Blocks) == 0 || c.Session.Of(len(p.Blocks)) != r.Session) {
		v := analysis.Sessions(s)[r.Session-1]
		b.Session = sessionName(c, r.Session, blocks) + ": " + c.Block.Many(v.Blocks)
		if v.Hours.Known() {
			b.Session += ", about " + hours(cost.SessionTimes(c, s.Draw.Order.Blocks)[r.Session-1])
		}
	}
	return b
}

// head fills in the columns.
func (p *page) head(s *sheet.Sheet) {
	c := s.Campaign
	add := func(name, small, class string) { p.Head = append(p.Head, pageHead{name, small, class}) }
	add("run", "", "count")
	add("position", "", "count")
	if s.Draw.Order.Plan.WholePlots != nil {
		add("whole plot", "", "count")
	}
	if c.Specimens != nil {
		add(c.Specimens.Name, "", "count")
	}
	for _, f := range c.Factors {
		add(f.Name, f.Unit, "level")
	}
	for _, k := range c.Readings {
		small := k.Unit
		if k.Low != nil {
			small = strings.TrimSpace(small + " ≥ " + strconv.FormatFloat(*k.Low, 'g', -1, 64))
		}
		if k.High != nil {
			small = strings.TrimSpace(small + " ≤ " + strconv.FormatFloat(*k.High, 'g', -1, 64))
		}
		add(k.Name, small, "write")
	}
	for _, r := range c.Responses {
		add(r.Name, r.Unit, "write")
	}
	add("ok  failed  void", "", "status")
	add("time", "", "write")
	add("note", "", "note")
	p.Columns = len(p.Head)
	p.Across, p.Dense = p.Columns > widestUpright, p.Columns > widestLoose
}

// row lays out one run.
func (p *page) row(s *sheet.Sheet, r *sheet.Run) pageRow {
	out := pageRow{Role: string(r.Role), Status: string(r.Status)}
	add := func(text, class string) { out.Cells = append(out.Cells, pageCell{text, class}) }
	add(strconv.Itoa(r.Run), "count")
	add(strconv.Itoa(r.Position), "count")
	if s.Draw.Order.Plan.WholePlots != nil {
		text := ""
		if r.WholePlot > 0 {
			text = strconv.Itoa(r.WholePlot)
		}
		add(text, "count")
		out.Begins = r.Position > 1 && r.WholePlot > 0 && s.Runs[r.Run-2].WholePlot != r.WholePlot
	}
	if r.Specimen > 0 {
		add(strconv.Itoa(r.Specimen), "count")
	}
	for _, level := range r.Levels {
		add(level, "level")
	}
	for _, v := range r.Readings {
		add(v, "write")
	}
	for _, v := range r.Values {
		add(v, "write")
	}
	add("", "status")
	done := ""
	if !r.DoneAt.IsZero() {
		done = r.DoneAt.Format("15:04")
	}
	add(done, "write")
	note := r.Note
	if r.Role != sheet.Drawn {
		note = strings.TrimSpace(string(r.Role) + " " + note)
	}
	add(note, "note")
	return out
}

// rests says how long to rest between runs, "" when the plan does not.
func rests(c *design.Plan) string {
	b := c.Budget
	switch {
	case b == nil || b.Rest == 0 && b.RestUntil == nil:
		return ""
	case b.RestUntil == nil:
		return fmt.Sprintf("Rest %s or more between runs.", spoken(b.Rest))
	}
	text := "Rest between runs until start_temp is down to " + withUnit(short(verdict.Number(*b.RestUntil), 6), startTempUnit(c))
	if b.Rest == 0 {
		return text + "; how long that takes is not counted: add rest to [budget], about what it is."
	}
	return text + ", counted as " + spoken(b.Rest) + "."
}

func startTempUnit(c *design.Plan) string {
	for _, k := range c.Readings {
		if k.Name == "start_temp" {
			return k.Unit
		}
	}
	return ""
}

// spoken says a short time: "40 s", "1 min 30 s".
func spoken(t time.Duration) string {
	minutes, seconds := t/time.Minute, (t % time.Minute).Seconds()
	s := strconv.FormatFloat(seconds, 'g', -1, 64) + " s"
	switch {
	case minutes == 0:
		return s
	case seconds == 0:
		return fmt.Sprintf("%d min", minutes)
	}
	return fmt.Sprintf("%d min %s", minutes, s)
}

// shortHash is the beginning of a plan's hash, enough to tell it from another by eye.
func shortHash(hash string) string {
	_, hex, _ := strings.Cut(hash, ":")
	return hex[:min(12, len(hex))]
}
