package design

// Check is a number noted before a run starts, with the limits outside which entering it raises a
// warning. Every plan has start_volts and start_temp; [checks.NAME] gives them limits or adds others.
type Check struct {
	Name string
	Unit string
	Low  *float64 // nil: no lower limit
	High *float64 // nil: no upper limit
}
