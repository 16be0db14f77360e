package rehearse

import "math"

// Response says what a run measures, as a product of ratios:
//
//	Base · Ratio[treatment] · (V/Nominal)^Volts · warm(T)^Copper · exp(Noise·z)
//
// with V the mean voltage under load, T the winding's mean temperature, warm
// the resistance of copper at T over that at 25 °C, and z a standard normal
// number. Digits is the number of decimals that the instrument shows.
type Response struct {
	Base    float64
	Ratio   []float64 // of each treatment
	Nominal float64   // volts
	Volts   float64   // exponent
	Copper  float64   // exponent
	Noise   float64   // relative standard deviation from run to run
	Digits  int
}

// value is the response of one run.
func (r *Response) value(treatment int, c Conditions, z float64) float64 {
	return r.Base * r.Ratio[treatment] * math.Exp(r.drift(c.logs())+r.Noise*z)
}

// drift is the logarithm of what the bench does to the response in a run.
func (r *Response) drift(volts, copper float64) float64 {
	return r.Volts*(volts-math.Log(r.Nominal)) + r.Copper*copper
}

// logs returns the logarithms of the voltage under load and of the copper's resistance.
func (c Conditions) logs() (volts, copper float64) {
	return math.Log(c.Volts), math.Log(warm(c.Temp))
}
