package sheet

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"reflect"
	"strings"
	"time"

	"fairrun/design"
	"fairrun/design/disk"
	"fairrun/design/fault"
	"fairrun/design/order"
	"fairrun/design/store"
)

// DrawSchema names the form of draw.json.
const DrawSchema = "fairrun.draw/2"

// Draw is the record of a draw: from which plan, when, and what came out. It lets the
// verdict repeat the randomisation and see what was edited since.
type Draw struct {
	Hash  string          `json:"hash"`  // of the plan that was drawn
	Plan  json.RawMessage `json:"plan"`  // that plan, in canonical form
	Draws []Drawing       `json:"draws"` // the first draw, then each extension
	Order order.Drawn     `json:"order"` // what all of them gave together
	Runs  []Planned       `json:"runs"`  // run n is Runs[n-1]
}

// Drawing is the time at which blocks were drawn, to the second.
type Drawing struct {
	Time     time.Time `json:"time"`
	Blocks   int       `json:"blocks"`              // how many
	FoldOver string    `json:"fold_over,omitempty"` // of an extension by a screen's fold-over: all, or the factor that was folded
}

// Planned is a run as it was drawn.
type Planned struct {
	Run       int      `json:"run"`
	Block     int      `json:"block"`
	Position  int      `json:"position"`
	Role      Role     `json:"role,omitempty"`
	WholePlot int      `json:"whole_plot,omitempty"` // from 1 over the campaign; 0 where there are none
	Session   int      `json:"session,omitempty"`    // from 1, that the block lies in; 0 where there are none
	Item      int      `json:"item,omitempty"`       // from 1, that the block runs on; 0 where there are none
	Specimen  int      `json:"specimen,omitempty"`   // from 1, that the block belongs to; 0 where there are none
	Levels    []string `json:"levels"`               // of each factor
}

// Role is what a run is for, as its row says.
type Role string

const (
	Drawn     Role = ""          // a treatment, in drawn order
	Reference Role = "reference" // the baseline at a fixed place, analysed like any run of it
	Warmup    Role = "warm-up"   // the baseline at the start of a block, not analysed
)

// newDraw is the record of the first draw for a plan.
func newDraw(c *design.Plan, d *order.Drawn, at time.Time) *Draw {
	return &Draw{
		Hash:  c.Hash(),
		Plan:  c.Canonical(),
		Draws: []Drawing{{Time: at.Truncate(time.Second), Blocks: len(d.Blocks)}},
		Order: *d,
		Runs:  plannedRuns(c, d.Whole(), d.Blocks),
	}
}

// plannedRuns numbers the runs of blocks, which hold the treatment at each position of p.
func plannedRuns(c *design.Plan, p order.Spec, blocks [][]int) []Planned {
	treatments := c.Treatments()
	roles := map[order.Role]Role{order.RoleReference: Reference, order.RoleWarmup: Warmup}
	at := p.Roles()
	var runs []Planned
	plot := 0
	for b, block := range blocks {
		setting := -1
		for i, t := range block {
			r := Planned{Run: len(runs) + 1, Block: b + 1, Position: i + 1,
				Session: c.Session.Of(b + 1), Item: c.ItemOf(b + 1), Specimen: c.Specimens.Of(b + 1), Levels: treatments[t].Levels}
			if i < len(at) {
				r.Role = roles[at[i]]
			}
			if p.WholePlots != nil && r.Role == Drawn {
				if p.WholePlots[t] != setting {
					plot++
				}
				setting = p.WholePlots[t]
				r.WholePlot = plot
			}
			runs = append(runs, r)
		}
	}
	return runs
}

// encode is d as a file: one line a draw and a run, so that a difference between two
// versions can be read.
func (d *Draw) encode() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "{\n  \"schema\": %q,\n  \"hash\": %q,\n  \"plan\": ", DrawSchema, d.Hash)
	writeJSON(&b, d.Plan)
	b.WriteString(",\n  \"draws\": ")
	writeLines(&b, d.Draws)
	b.WriteString(",\n  \"order\": ")
	writeJSON(&b, d.Order)
	b.WriteString(",\n  \"runs\": ")
	writeLines(&b, d.Runs)
	b.WriteString("\n}\n")
	return b.Bytes()
}

// writeLines writes a list with one element a line.
func writeLines[T any](b *bytes.Buffer, list []T) {
	b.WriteByte('[')
	for i, element := range list {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString("\n    ")
		writeJSON(b, element)
	}
	b.WriteString("\n  ]")
}

// writeJSON writes v on one line, with the characters < > & as they are.
func writeJSON(b *bytes.Buffer, v any) {
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		panic("sheet: draw with a number that is not finite")
	}
	b.Truncate(b.Len() - 1) // the line end
}

// restoreDraw is the remedy for a draw record that cannot be relied on.
const restoreDraw = "restore it from a backup or version control; it cannot be made again from the sheet"

// readDraw reads and checks the draw record that was read from path.
func readDraw(path string, c store.Content) (*Draw, error) {
	wrong := func(found, do string) error {
		return fault.List{{File: path, Found: found, Do: do}}
	}
	if errors.Is(c.Err, fs.ErrNotExist) {
		return nil, wrong("the record of the draw is missing", restoreDraw)
	}
	if _, large := errors.AsType[*disk.SizeError](c.Err); large || len(c.Data) > maxBytes {
		return nil, wrong("the file is too large for a draw record", "check that this is the right file")
	}
	if c.Err != nil {
		return nil, c.Err
	}
	d, found := parseDraw(c.Data)
	switch {
	case errors.Is(found, errLaterSchema):
		return nil, wrong(found.Error(), "update fairrun")
	case found != nil:
		return nil, wrong(found.Error(), restoreDraw)
	}
	return d, nil
}

var errLaterSchema = errors.New("the file was written by another version of fairrun")

// parseDraw reads a draw record and checks it against itself. The error says what is
// wrong.
func parseDraw(data []byte) (*Draw, error) {
	var head struct {
		Schema string `json:"schema"`
	}
	err := json.Unmarshal(data, &head)
	if err != nil {
		return nil, fmt.Errorf("the file is damaged: %w", err)
	}
	if head.Schema != DrawSchema {
		if strings.HasPrefix(head.Schema, "fairrun.draw/") {
			return nil, fmt.Errorf("%w: its schema is %q, not %q", errLaterSchema, head.Schema, DrawSchema)
		}
		return nil, fmt.Errorf("the file is no draw record: its schema is %q, not %q", head.Schema, DrawSchema)
	}
	var file struct {
		Schema string `json:"schema"`
		Draw
	}
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&file); err != nil {
		return nil, fmt.Errorf("the file is damaged: %w", err)
	}
	d := &file.Draw
	if err := d.checked(); err != nil {
		return nil, err
	}
	return d, nil
}

// checked is check for whatever stands in a file: numbers that nothing could be drawn with may make it
// panic, which says that the file was edited.
func (d *Draw) checked() (err error) {
	defer func() {
		if recover() != nil {
			err = errors.New("the file was edited: its numbers cannot be those of a draw")
		}
	}()
	return d.check()
}

// recordHash is the hash of a record as a file, as the journal keeps it.
func recordHash(data []byte) string {
	sum := sha256.Sum256(data)
	return "sha256:" + hex.EncodeToString(sum[:])
}

// check says whether plan, hash, draws and runs fit each other.
func (d *Draw) check() error {
	var plan bytes.Buffer
	if err := json.Compact(&plan, d.Plan); err != nil {
		return fmt.Errorf("the plan in the file is damaged: %w", err)
	}
	d.Plan = plan.Bytes()
	sum := sha256.Sum256(d.Plan)
	if d.Hash != "sha256:"+hex.EncodeToString(sum[:]) {
		return errors.New("the file was edited: its hash is not that of the plan in it")
	}
	var c design.Plan
	if err := json.Unmarshal(d.Plan, &c); err != nil {
		return fmt.Errorf("the plan in the file is damaged: %w", err)
	}
	treatments := c.Treatments()
	blocks := 0
	for _, draw := range d.Draws {
		blocks += draw.Blocks
	}
	if blocks != len(d.Order.Blocks) {
		return fmt.Errorf("the file was edited: %d blocks were drawn, its order has %d", blocks, len(d.Order.Blocks))
	}
	for _, block := range d.Order.Blocks {
		for _, t := range block {
			if t < 0 || t >= len(treatments) {
				return fmt.Errorf("the file was edited: its order has a treatment number %d, its plan has treatments 0 to %d", t, len(treatments)-1)
			}
		}
	}
	switch {
	case c.Specimens != nil && c.Specimens.Count < 1:
		return errors.New("the file was edited: its plan has no specimens")
	case c.Session != nil && c.Session.Blocks < 1:
		return errors.New("the file was edited: its plan has sessions without blocks")
	case c.Items != nil && len(c.Items.Labels) < 1:
		return errors.New("the file was edited: its plan has no items")
	}
	for _, t := range treatments {
		if len(t.Levels) != len(c.Factors) {
			return fmt.Errorf("the file was edited: a treatment of its plan has levels for %d of %d factors", len(t.Levels), len(c.Factors))
		}
	}
	whole := d.Order.Whole()
	longest := 0
	for _, block := range d.Order.Blocks {
		longest = max(longest, len(block))
	}
	for _, p := range []order.Spec{d.Order.Plan, whole} {
		if n := p.Length(); n < 0 || n > longest {
			return fmt.Errorf("the file was edited: blocks of its order have %d runs, those of its plan %d", longest, n)
		}
	}
	if whole.WholePlots != nil && len(whole.WholePlots) != len(treatments) {
		return fmt.Errorf("the file was edited: its order has whole plots for %d treatments, its plan has %d", len(whole.WholePlots), len(treatments))
	}
	want := plannedRuns(&c, whole, d.Order.Blocks)
	if len(want) != len(d.Runs) {
		return fmt.Errorf("the file was edited: %d runs were drawn, it lists %d", len(want), len(d.Runs))
	}
	for i := range want {
		if !reflect.DeepEqual(want[i], d.Runs[i]) {
			return fmt.Errorf("the file was edited: run %d is not as drawn", want[i].Run)
		}
	}
	if len(want) == 0 {
		return errors.New("the file has no runs")
	}
	return nil
}

// factors are the names of the factors when d was drawn.
func (d *Draw) factors() []string {
	var plan struct {
		Factors []struct {
			Name string `json:"name"`
		} `json:"factors"`
	}
	if json.Unmarshal(d.Plan, &plan) != nil {
		return nil
	}
	names := make([]string, len(plan.Factors))
	for i, f := range plan.Factors {
		names[i] = f.Name
	}
	return names
}
