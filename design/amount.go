package design

// Amount is a size in the response's unit, or relative to the response: "2%" has Value 0.02 and
// Relative true. The zero value is no amount.
type Amount struct {
	Set      bool
	Value    float64 // positive and finite when Set
	Relative bool
}
