// Package design holds the plan of a campaign as values: what is compared, in which blocks, against
// which drift, what is measured and how it is judged.
//
// Package design/plan reads the values from campaign.toml; other packages take them from there. Here
// they answer what follows from them alone: Treatments and their number, the runs of a block, Freedom,
// DefaultSimulation. Canonical, Hash and Differences distinguish a plan from its later edits, and
// Cautions is the one place of the safety text. Nothing is parsed, no file is read. Read plan.go first.
//
// # Words
//
// A treatment is a combination of levels, one of each factor. A block is what cannot last: a pack
// charge, a session. Where several blocks make a session, it is the day or the afternoon in which they
// lie; items are what blocks run on and what comes back, specimens what is tested. In formulas t is the
// number of treatments, b of blocks, k of runs in a block, r of replicates of each treatment in a block,
// and n = b·k of runs.
package design

// Plan is a plan with its defaults resolved. The zero value is not a plan: a Plan comes
// from Read or Parse, or is filled in by a caller who answers for it.
type Plan struct {
	Title        string      `json:"title"`                // one line
	Scope        string      `json:"scope"`                // what was tested; verdicts speak of this
	Seed         *uint64     `json:"-"`                    // nil until drawn or chosen; at most MaxSeed
	Factors      []Factor    `json:"factors"`              // at least one, in the order of the file
	Chosen       [][]string  `json:"treatments,omitempty"` // the chosen treatments, one level a factor; nil when all combinations are run
	Interactions bool        `json:"interactions"`         // each treatment has its own mean; false: the effects of the factors add up. False with one factor
	Block        Block       `json:"block"`
	Session      *Session    `json:"session,omitempty"`   // nil: blocks follow each other as they come
	Items        *Items      `json:"items,omitempty"`     // nil: every block has its own
	Specimens    *Specimens  `json:"specimens,omitempty"` // nil: what is tested is the thing itself
	Drift        Drift       `json:"drift"`
	Order        Order       `json:"order,omitzero"`
	Responses    []Response  `json:"responses"` // at least one, in the order of the file
	Analysis     Analysis    `json:"analysis"`
	Readings     []Reading   `json:"readings"`          // what is noted before a run starts, in sheet order: start_volts, start_temp, then the plan's own
	Budget       *Budget     `json:"budget,omitempty"`  // nil when the plan has none
	Signals      []Signal    `json:"signals,omitempty"` // computed from columns of logs, in the order of the file
	Log          *Log        `json:"-"`                 // where logs lie and what stands in them; nil: the plan says nothing of logs
	Rig          *Rig        `json:"-"`                 // nil: the plan does not name one
	Simulation   *Simulation `json:"-"`                 // the bench to rehearse on; nil when the plan says nothing of it: DefaultSimulation
}

// MaxRuns is the largest number of runs a plan may ask for.
const MaxRuns = 10_000

// DrawnPerBlock returns the number of runs in each block whose treatment is drawn.
func (c *Plan) DrawnPerBlock() int {
	if c.Block.Runs > 0 {
		return c.Block.Runs
	}
	return c.Block.Replicates * c.TreatmentsPerBlock()
}

// AnalysedPerBlock returns the number of runs in each block that are analysed: drawn and reference
// runs.
func (c *Plan) AnalysedPerBlock() int { return c.DrawnPerBlock() + len(c.Order.Reference) }

// RunsPerBlock returns the number of all runs in each block, warm-up runs too.
func (c *Plan) RunsPerBlock() int { return c.DrawnPerBlock() + c.Order.Fixed() }

// Runs returns the number of all runs of the whole campaign.
func (c *Plan) Runs() int {
	return c.Block.Count * c.RunsPerBlock()
}
