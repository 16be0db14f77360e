package verdict

import (
	"fairrun/stats/compare"
	"fairrun/stats/linmod"
)

// Schema names the JSON form of [Verdict].
const Schema = "fairrun.verdict/2"

// Verdict is the whole answer, one [Response] for each thing measured.
type Verdict struct {
	Schema    string     `json:"schema"`
	Campaign  Campaign   `json:"campaign"`
	Responses []Response `json:"responses"`

	FalseAlarms *FalseAlarms `json:"false_alarms"` // nil where nothing can be compared
}

// Campaign says what was tested; the verdict speaks of this scope only.
type Campaign struct {
	Title string `json:"title"`
	Scope string `json:"scope"`
	Holds string `json:"holds"` // in words: for what the verdict holds; "" where only the scope says it
}

// Response is the answer for one response.
type Response struct {
	Name         string         `json:"name"`
	Unit         string         `json:"unit"`
	Better       string         `json:"better"` // "higher", "lower", or "" when not stated
	Margin       *Margin        `json:"margin"` // nil when not stated
	Scale        Scale          `json:"scale"`
	Runs         Runs           `json:"runs"`
	Model        Model          `json:"model"`
	ANOVA        []ANOVARow     `json:"anova"`
	Noise        Noise          `json:"noise"`
	Effect       Effect         `json:"effect"`
	Overall      Overall        `json:"overall"`
	Read         *Read          `json:"read"` // which families of comparisons to read; nil without interactions in the model
	Means        []Mean         `json:"means"`
	Comparisons  []Comparison   `json:"comparisons"`
	Contrasts    []Contrast     `json:"contrasts"`      // trends over numeric levels, and those asked for
	Simple       []SimpleEffect `json:"simple_effects"` // of each factor with the others held, when an interaction is real
	CarryOver    *CarryOver     `json:"carry_over"`     // nil when it is not in the model
	Looks        *Looks         `json:"looks"`          // nil when one look is planned
	Randomise    *Randomised    `json:"randomisation"`  // nil when there is no recorded draw to repeat
	Alternatives []Alternative  `json:"alternatives"`
	Checks       []Check        `json:"checks"`
	Failures     []Failure      `json:"failures"`
	Best         []string       `json:"best"`             // levels that may be the best; the others are shown not to be
	BestAverages []string       `json:"best_averages"`    // with interactions: of each factor averaged over the others
	SmallestGood *string        `json:"smallest_as_good"` // smallest level shown to be within the margin of the best
}

// Margin is the smallest difference that would change a decision: a share of
// the mean (0.02 is 2 %) when Relative, otherwise in the response's unit.
type Margin struct {
	Value    float64 `json:"value"`
	Relative bool    `json:"relative"`
}

// Scale is the scale of the analysis.
type Scale string

// Scales of the analysis.
const (
	Raw Scale = "raw" // differences in the response's unit
	Log Scale = "log" // differences of logarithms: ratios
)

// Runs counts the rows by what became of them.
type Runs struct {
	OK     int `json:"ok"`
	Failed int `json:"failed"`
	Void   int `json:"void"`
	Todo   int `json:"todo"`
}

// Model says what was fitted and how.
type Model struct {
	Treatments []string `json:"treatments"` // terms; interactions as "A × B"
	Blocks     []string `json:"blocks"`
	Covariates []string `json:"covariates"`
	Random     []string `json:"random"`
	Method     string   `json:"method"`    // "least squares" or "REML"
	DFMethod   string   `json:"df_method"` // "residual", "satterthwaite" or "kenward-roger"
}

// ANOVARow is one term of the analysis of variance: Type II sums of squares,
// each term adjusted for all terms that do not contain it.
type ANOVARow struct {
	Factors Factors `json:"factors"` // of a term of the treatments
	Term    string  `json:"term"`
	DF      Number  `json:"df"`
	DenDF   Number  `json:"den_df"`
	SS      Number  `json:"ss"`
	MS      Number  `json:"ms"`
	F       Number  `json:"f"`
	P       Number  `json:"p"`
	Eta2    Number  `json:"eta_squared_partial"`
	Omega2  Number  `json:"omega_squared"`

	Omega2Partial Number `json:"omega_squared_partial"`
}

// Noise is the run-to-run standard deviation on the scale of the analysis.
type Noise struct {
	SD              Number       `json:"sd"`
	Low             Number       `json:"sd_low"`
	High            Number       `json:"sd_high"`
	DF              Number       `json:"df"`
	Repeatability   Number       `json:"repeatability_limit"`   // two runs alike differ by more once in 20 times (ISO 5725-2)
	Reproducibility Number       `json:"reproducibility_limit"` // the same of runs that share nothing random; null without random factors
	Components      []Component  `json:"components"`
	Differences     []Difference `json:"differences"` // what a difference between two levels is judged by, where something but the run could matter to it
}

// Component is one part of the noise.
type Component struct {
	Name  string `json:"name"`
	SD    Number `json:"sd"`
	Low   Number `json:"sd_low"`
	High  Number `json:"sd_high"`
	Share Number `json:"share"` // of the variance between runs that share nothing random
}

// Difference says what the difference between two levels is judged by: the parts of the
// noise that more of something averages out.
type Difference struct {
	Factors Factors          `json:"factors"`
	Levels  int              `json:"level_count"`
	SE      Number           `json:"se"` // of a difference in a balanced campaign of these sizes
	Parts   []DifferencePart `json:"parts"`
	Advice  string           `json:"advice"` // what one more item of the largest part does
}

// DifferencePart is one part of the noise of a difference.
type DifferencePart struct {
	Name     string `json:"name"` // of the component
	Item     string `json:"item"` // what more of averages it out: "motor", "pack", "run"
	SD       Number `json:"sd"`
	PerLevel Number `json:"per_level"` // items behind each level
	Share    Number `json:"share"`     // of the variance of a difference
}

// Effect is the size of the treatments' effect taken together.
type Effect struct {
	Eta2   Number `json:"eta_squared_partial"`
	Omega2 Number `json:"omega_squared"`

	Omega2Partial Number `json:"omega_squared_partial"`
}

// Overall is the F test of all treatments together, with its p-value adjusted
// for the number of responses: Holm holds the chance of any false alarm among
// the responses, Benjamini and Hochberg the share of false ones among those
// called.
type Overall struct {
	F         Number `json:"f"`
	DF        Number `json:"df"`
	DenDF     Number `json:"den_df"`
	P         Number `json:"p"`
	PHolm     Number `json:"p_holm"`
	PHochberg Number `json:"p_benjamini_hochberg"`
}

// Read says which of two kinds of families to read where a model has interactions. Both are there whatever it says, each
// at its own level.
type Read struct {
	Of  string `json:"of"`
	Why string `json:"why"`
}

// What to read.
const (
	ReadCombinations = "combinations" // of all factors: what one does depends on the other
	ReadAverages     = "averages"     // of each factor over the others: effects add up
)

// Sentence says so.
func (r *Read) Sentence() string {
	if r.Of == ReadAverages {
		return "Read the comparisons of each factor, which average over the others: " + r.Why + "."
	}
	return "Read the comparisons of combinations: " + r.Why + "."
}

// Factors are those that a term, or the levels that are compared, are of: one, or those of an
// interaction.
type Factors []string

// Term names them as one: "A", "A × B".
func (f Factors) Term() string { return linmod.TermName(f...) }

// Mean is an adjusted mean, on the response's scale (geometric on the log
// scale) with its own 1−alpha interval.
type Mean struct {
	Factors  Factors `json:"factors"`
	Level    string  `json:"level"`
	N        int     `json:"n"`
	Estimate Number  `json:"estimate"`
	SE       Number  `json:"se"`
	DF       Number  `json:"df"`
	Low      Number  `json:"low"`
	High     Number  `json:"high"`
}

// Comparison is "level minus against" on the scale of the analysis. Low and
// High hold for the whole family together; the verdict is read off them.
type Comparison struct {
	Factors     Factors      `json:"factors"`
	Level       string       `json:"level"`
	Against     string       `json:"against"`
	Estimate    Number       `json:"estimate"`
	SE          Number       `json:"se"`
	DF          Number       `json:"df"`
	T           Number       `json:"t"`
	P           Number       `json:"p"`
	PAdjusted   Number       `json:"p_adjusted"`
	Low         Number       `json:"low"`
	High        Number       `json:"high"`
	Percent     Number       `json:"percent"`
	PercentLow  Number       `json:"percent_low"`
	PercentHigh Number       `json:"percent_high"`
	G           Number       `json:"hedges_g"`
	GLow        Number       `json:"hedges_g_low"`
	GHigh       Number       `json:"hedges_g_high"`
	PRandom     Number       `json:"p_randomisation"`   // of the randomisation test, for the whole family
	LowRandom   Number       `json:"low_randomisation"` // its simultaneous interval; null where the orders reject no value
	HighRandom  Number       `json:"high_randomisation"`
	Verdict     compare.Word `json:"verdict"`
	More        *int         `json:"more_replicates"` // further ones of each treatment that settle an unresolved comparison, whatever its true difference; nil when not needed, out of reach or without a margin
}

// SimpleEffect is a comparison of two levels of one factor with the others held.
type SimpleEffect struct {
	At string `json:"at"` // "B b1, C c2"
	Comparison
}

// Randomised is the randomisation test over the orders that might have been
// drawn.
type Randomised struct {
	Statistic Number `json:"statistic"`
	Orders    int    `json:"orders"`
	Exact     bool   `json:"exact"`
	P         Number `json:"p"`
}

// Alternative is a test that leans on less than the model does, made when a
// check of the model fails.
type Alternative struct {
	Name      string `json:"name"`
	Statistic Number `json:"statistic"`
	DF1       Number `json:"df1"`
	DF2       Number `json:"df2"`
	P         Number `json:"p"`
	Survives  bool   `json:"survives"` // it calls the same differences clear of zero
	Message   string `json:"message"`  // "" where only the JSON has it

	Intervals []AlternativeInterval `json:"intervals"` // where it judges the comparisons once more; else empty
}

// AlternativeInterval is a comparison as another method judges it, on the scale of the analysis.
type AlternativeInterval struct {
	Factors   Factors `json:"factors"`
	Level     string  `json:"level"`
	Against   string  `json:"against"`
	PAdjusted Number  `json:"p_adjusted"`
	Low       Number  `json:"low"`
	High      Number  `json:"high"`
}

// Check is one look at whether the model may be believed, or a thing that the
// person has to know about the data.
type Check struct {
	Name      string `json:"name"`
	Statistic Number `json:"statistic"`
	P         Number `json:"p"`
	Flag      bool   `json:"flag"`
	Message   string `json:"message"`
}

// Failure counts the runs of a level in which the thing under test did not do
// its job, with the exact 1−alpha interval of the chance of failing.
type Failure struct {
	Level  string `json:"level"`
	Failed int    `json:"failed"`
	Runs   int    `json:"runs"` // ok and failed
	Low    Number `json:"low"`
	High   Number `json:"high"`
	// Wilson's score interval, which is shorter and right on average, not always.
	WilsonLow  Number `json:"wilson_low"`
	WilsonHigh Number `json:"wilson_high"`
}
