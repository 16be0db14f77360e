package design

// Check is a number noted before a run starts, with the limits outside which entering it raises a
// warning. Every plan has start_volts and start_temp; [checks.NAME] gives them limits or adds others.
type Check struct {
	Name string   `json:"name"`
	Unit string   `json:"unit,omitempty"`
	Low  *float64 `json:"low,omitempty"`  // nil: no lower limit
	High *float64 `json:"high,omitempty"` // nil: no upper limit
}

// StartChecks returns the checks that every plan has.
func StartChecks() []Check {
	return []Check{{Name: "start_volts", Unit: "V"}, {Name: "start_temp", Unit: "°C"}}
}
