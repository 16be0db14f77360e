package design

// Response is what is measured, one number a run.
type Response struct {
	Name   string
	Unit   string // "" when it has none
	Better string // BetterLower or BetterHigher
	Margin Amount // smallest difference that matters; not Set: the plan has none
	Noise  Amount // assumed standard deviation from run to run; not Set: unknown
	Scale  string // ScaleRaw or ScaleLog: the plan's word, or log for a relative margin and raw otherwise
}

// Which way a response is better.
const (
	BetterLower  = "lower"
	BetterHigher = "higher"
)

// Scales on which a response is analysed.
const (
	ScaleRaw = "raw" // differences
	ScaleLog = "log" // ratios
)
