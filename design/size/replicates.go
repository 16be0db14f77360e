package size

import (
	"fairrun/design"
	"fairrun/design/question"
	"fairrun/stats/verdict"
)

// Schema names the JSON form of [Replicates].
const Schema = "fairrun.replicates/2"

// replicates is the answer without its responses.
func replicates(c *design.Plan, stage string, looks question.LookPlan) *Replicates {
	out := &Replicates{Schema: Schema, Campaign: question.Campaign(c), Stage: stage,
		Block: c.Block.Name, Blocks: c.Block.Plural(), Alpha: c.Analysis.Alpha, Power: c.Analysis.Power, Compare: c.Analysis.Compare,
		Looks: looks.Request(c).Looks(), WholePlotNoise: verdict.Unknown, Specimens: specimensOf(c), Responses: []ResponseSize{}}
	if c.Specimens != nil {
		out.Specimen = c.Specimens.Name
	}
	return out
}

// specimensOf counts the specimens of a plan, 0 where it does not say.
func specimensOf(c *design.Plan) int {
	if c.Specimens == nil {
		return 0
	}
	return c.Specimens.Count
}

// Replicates says how many blocks it takes to find the margins. Its JSON form is [Schema].
type Replicates struct {
	Schema         string           `json:"schema"`
	Campaign       verdict.Campaign `json:"campaign"`
	Stage          string           `json:"stage"` // "before" results, from assumed noise; "after", from measured noise
	Block          string           `json:"block"` // what the plan calls a block
	Blocks         string           `json:"-"`     // and several of them
	Alpha          float64          `json:"alpha"`
	Power          float64          `json:"power"`
	Compare        string           `json:"compare"`
	Looks          *verdict.Looks   `json:"looks"`            // null with one look
	WholePlotNoise verdict.Number   `json:"whole_plot_noise"` // between whole plots over that between runs, as assumed; null where it is measured or there are none
	Pilot          string           `json:"pilot"`            // where the noise is from, "" when it is assumed, or measured here
	Rig            string           `json:"rig"`              // the plan's, where it has a record of noise that was read; otherwise ""
	Specimens      int              `json:"specimens"`        // of one type, that the plan tests; 0 when it does not say
	Specimen       string           `json:"specimen"`         // what the plan calls a specimen; "" when it has none
	Responses      []ResponseSize   `json:"responses"`
}

// Stages of a campaign.
const (
	Before = "before"
	After  = "after"
)

// ResponseSize says what is enough for one response.
type ResponseSize struct {
	Name       string          `json:"name"`
	Unit       string          `json:"unit"`
	Margin     *verdict.Margin `json:"margin"`
	Noise      RunNoise        `json:"noise"`
	Sizes      []FamilySize    `json:"families"`
	Message    string          `json:"message"`   // why there is no number, "" when there is
	Caution    string          `json:"caution"`   // why the numbers are too bold, "" when nothing says so
	Interplay  verdict.Number  `json:"interplay"` // how differently several specimens answer to a level (standard deviation), over the noise; null with one or none
	Allocation *Allocation     `json:"split"`     // after results: how runs are best shared out; null where they all count alike
}

// RunNoise is the run-to-run standard deviation that the numbers rest on, in the
// terms of the margin: a share of the mean when the margin is one.
type RunNoise struct {
	SD       verdict.Number `json:"sd"`
	Low      verdict.Number `json:"sd_low"` // limits of the measured noise, null when it is assumed
	High     verdict.Number `json:"sd_high"`
	DF       verdict.Number `json:"df"`
	Measured bool           `json:"measured"`
	Source   string         `json:"source"` // in words: whose it is, where a record has to do with it; otherwise ""
	Kept     verdict.Number `json:"kept"`   // of the rig's record, where another is stated in its place; otherwise null
}

// FamilySize says what is enough for one family of comparisons. Before results,
// points count the blocks of the whole campaign; after, further blocks.
type FamilySize struct {
	Factors         verdict.Factors  `json:"factors"` // whose levels are compared; several: their combinations
	Levels          []string         `json:"levels"`
	Now             Point            `json:"now"`                 // the plan as it stands, or no further blocks
	Needed          *Point           `json:"needed"`              // smallest that finds a true difference as large as the margin; null: no affordable number would
	Settled         *Point           `json:"settled"`             // smallest that leaves no comparison unresolved, whatever its true difference
	Low             *Point           `json:"needed_if_noise_low"` // Needed at the limits of the measured noise
	High            *Point           `json:"needed_if_noise_high"`
	Assured         *Point           `json:"needed_assured"`   // with the power averaged over what is not known about the noise
	Equal           *Point           `json:"equal"`            // smallest that shows levels without a true difference to be equal within the margin
	Asked           *Point           `json:"asked"`            // the size that was asked for; null: none was
	NeededSpecimens *SpecimensPoint  `json:"needed_specimens"` // smallest number of specimens, each with as many blocks as the plan gives to one, that finds it; null: one or none, or no affordable number
	BySpecimens     []SpecimensPoint `json:"by_specimens"`     // what numbers of specimens achieve; empty with one or none
	SameRuns        []Arrangement    `json:"same_runs"`        // before results: what as many runs find otherwise shared out over blocks; empty where nothing is to choose
	Most            int              `json:"most"`             // the largest number of blocks tried
	Curve           []Point          `json:"curve"`
	Open            []Open           `json:"unresolved"` // after results: what is still unresolved
}

// Open is a comparison that is still unresolved.
type Open struct {
	Level   string   `json:"level"`
	Against string   `json:"against"`
	Needed  *Further `json:"needed"` // blocks that settle it, whatever its true difference; null: no affordable number
}

// Further is a number of blocks on top of those done.
type Further struct {
	Blocks int `json:"blocks"`
}

// Point is what a campaign of one size achieves.
type Point struct {
	Blocks     int            `json:"blocks"`
	Runs       int            `json:"runs"`
	PerLevel   int            `json:"runs_per_level"`
	Power      verdict.Number `json:"power"`
	Detectable verdict.Number `json:"detectable"`  // smallest difference found with the power asked for, in the terms of the margin
	Equal      verdict.Number `json:"power_equal"` // chance to show levels without a true difference to be equal within the margin
	Hours      verdict.Number `json:"hours"`       // null without a budget
}

// Enough says whether, for every response that has an answer, the plan (before
// results) or what is done (after) is enough.
func (r *Replicates) Enough() bool {
	for _, e := range r.Responses {
		for _, z := range e.Sizes {
			if z.Needed == nil || z.Needed.Blocks > z.Now.Blocks {
				return false
			}
		}
	}
	return true
}
