package design

// Response is what is measured, one number a run. Which way it is better has to be said in the
// plan: a direction chosen once results are in is chosen by the results.
type Response struct {
	Name    string   `json:"name"`
	Unit    string   `json:"unit,omitempty"`    // "" when it has none
	Better  string   `json:"better"`            // BetterLower or BetterHigher
	Margin  Amount   `json:"margin,omitzero"`   // smallest difference that matters; not Set: the plan has none
	Noise   Amount   `json:"noise,omitzero"`    // assumed standard deviation from run to run; not Set: unknown
	Scale   string   `json:"scale"`             // ScaleRaw or ScaleLog: the plan's word, or log for a relative margin and raw otherwise
	Measure *Measure `json:"measure,omitempty"` // how it is measured from a log; nil: a person enters it
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
