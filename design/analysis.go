package design

// Analysis says how the results are judged.
type Analysis struct {
	Alpha   float64 `json:"alpha"`   // chance of a false alarm in the whole family of comparisons; 0.05 unless the plan says otherwise
	Power   float64 `json:"power"`   // chance to find a difference of the margin; 0.9 unless the plan says otherwise
	Compare string  `json:"compare"` // ComparePairs, CompareBaseline or CompareBest; pairs unless the plan says otherwise
	Looks   int     `json:"looks"`   // times the results are judged, the last one included; 1 unless the plan says otherwise

	// Family is what holds alpha together: FamilyFactor or FamilyTable; "" is what the plan's kind has ([Plan.Family]).
	Family string `json:"family,omitempty"`

	// Covariates are checks, noted at the start of a run, that the comparisons are adjusted for.
	Covariates []string `json:"covariates,omitempty"`

	Noise NoiseModel `json:"noise,omitzero"` // what levels scatter; NoiseCommon unless the plan says otherwise

	Spending Spending `json:"spending,omitzero"` // how several looks share alpha; SpendingOBrienFleming unless the plan says otherwise
}

// NoiseModel says what the levels that are compared scatter.
type NoiseModel string

// What levels scatter.
const (
	NoiseCommon  NoiseModel = "common"   // all alike
	NoiseByLevel NoiseModel = "by_level" // each in its own way
)

// IsZero reports whether m is what a plan has that says nothing of it, which the canonical form leaves out.
func (m NoiseModel) IsZero() bool { return m.Settled() == NoiseCommon }

// Settled is m with its default resolved.
func (m NoiseModel) Settled() NoiseModel {
	if m == "" {
		return NoiseCommon
	}
	return m
}

// RepeatsWithin reports whether levels with a noise of their own are judged by the runs of a treatment within a block: where
// those repeat and the verdict is to hold for these blocks. Otherwise differences are paired over blocks.
func (c *Plan) RepeatsWithin() bool { return c.Block.Fixed && c.Block.Replicates > 1 }

// Spending says how several looks at growing results share alpha.
type Spending string

// Ways to share alpha.
const (
	SpendingOBrienFleming Spending = "obrien-fleming" // almost nothing early
	SpendingPocock        Spending = "pocock"         // about evenly
)

// IsZero reports whether s is what a plan has that says nothing of it, which the
// canonical form leaves out.
func (s Spending) IsZero() bool { return s.settled() == SpendingOBrienFleming }

// settled is s with its default resolved.
func (s Spending) settled() Spending {
	if s == "" {
		return SpendingOBrienFleming
	}
	return s
}

// What holds alpha together.
const (
	FamilyFactor = "factor" // the comparisons of a factor, of each response by itself
	FamilyTable  = "table"  // all that is compared, of all factors and responses
)

// Family says what holds alpha together: where the plan does not, each factor.
func (c *Plan) Family() string {
	if c.Analysis.Family != "" {
		return c.Analysis.Family
	}
	return FamilyFactor
}

// Families of comparisons.
const (
	ComparePairs    = "pairs"    // every level with every other
	CompareBaseline = "baseline" // every level with the baseline
	CompareBest     = "best"     // every level with the best of the others
)
