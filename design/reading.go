package design

// Reading is a number noted before a run starts, with the limits outside which entering it raises a
// warning. Every plan has start_volts and start_temp; [readings.NAME] gives them limits or adds others.
type Reading struct {
	Name string   `json:"name"`
	Unit string   `json:"unit,omitempty"`
	Low  *float64 `json:"low,omitempty"`  // nil: no lower limit
	High *float64 `json:"high,omitempty"` // nil: no upper limit
}

// StartReadings returns the readings that every plan has.
func StartReadings() []Reading {
	return []Reading{{Name: "start_volts", Unit: "V"}, {Name: "start_temp", Unit: "°C"}}
}
