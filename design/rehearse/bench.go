package rehearse

import "math"

// copperPerKelvin is the rise of copper's resistance near 25 °C, as a share of
// its value there, per kelvin; common practice.
const copperPerKelvin = 0.0039

// reference is the temperature in °C at which resistances are stated.
const reference = 25.0

// leastVolts is the share of a full pack's voltage below which no controller runs: the voltage under load stays at it.
const leastVolts = 0.1

// Bench is the physics of a test bench. Times are in seconds, temperatures in
// °C, resistances in ohms at 25 °C.
type Bench struct {
	Ambient     float64 // temperature of the water or air that cools the motor
	WindingTau  float64 // time constant of the winding's heating and cooling
	WindingRise float64 // kelvin above ambient per watt of copper loss, once settled
	Resistance  float64 // of the winding
	RunTime     float64 // of each run
	RestTime    float64 // before each run, cooling
	SwapTime    float64 // before the first run of a pack
	Pack        Pack
}

// Pack is a battery; voltages at rest.
type Pack struct {
	Full, Empty float64 // volts with no charge drawn and with all of it
	Capacity    float64 // ampere-hours
	Resistance  float64 // ohms
	Spread      float64 // relative standard deviation of capacity and resistance between packs
}

// Load is what a run asks of the motor.
type Load struct {
	Winding float64 // ampere through the winding, which heats it
	Supply  float64 // ampere from the pack
}

// Conditions are what a run met: Start… as a person notes them before it, the
// others as they were on average while it ran.
type Conditions struct {
	StartVolts, StartTemp float64 // at rest, before the run
	Volts, Temp           float64 // under load, mean over the run
}

// state is where the bench stands between two runs.
type state struct {
	winding  float64 // °C
	drawn    float64 // ampere-hours from the pack in use
	capacity float64 // of the pack in use
	internal float64 // resistance of the pack in use
}

// fresh is a bench that has stood idle long enough to be at ambient.
func (b *Bench) fresh() *state { return &state{winding: b.Ambient} }

// swap changes the pack: the winding cools meanwhile. share says how the new
// pack differs from its type, in standard deviations.
func (b *Bench) swap(s *state, share [2]float64) {
	b.cool(s, b.SwapTime)
	s.drawn = 0
	s.capacity = b.Pack.Capacity * math.Exp(b.Pack.Spread*share[0])
	s.internal = b.Pack.Resistance * math.Exp(b.Pack.Spread*share[1])
}

// cool lets the winding fall towards ambient for some seconds.
func (b *Bench) cool(s *state, seconds float64) {
	s.winding = b.Ambient + (s.winding-b.Ambient)*math.Exp(-seconds/b.WindingTau)
}

// run rests, then runs the load, and returns what the run met. While it runs,
// the copper loss I²R at the temperature of the start drives the winding to
// its settled temperature with the time constant of the winding:
//
//	T(t) = T∞ + (T₀ − T∞)·exp(−t/τ)
//
// whose mean over the run is T∞ + (T₀ − T∞)·(1 − exp(−d/τ))·τ/d for a run of d
// seconds.
func (b *Bench) run(s *state, l Load) Conditions {
	b.cool(s, b.RestTime)
	charge := l.Supply * b.RunTime / 3600
	open := func(drawn float64) float64 {
		return b.Pack.Full - (b.Pack.Full-b.Pack.Empty)*min(1, drawn/s.capacity)
	}
	c := Conditions{StartVolts: open(s.drawn), StartTemp: s.winding}
	loss := l.Winding * l.Winding * b.Resistance * warm(s.winding)
	settled := b.Ambient + b.WindingRise*loss
	decay := math.Exp(-b.RunTime / b.WindingTau)
	c.Temp = settled + (s.winding-settled)*(1-decay)*b.WindingTau/b.RunTime
	c.Volts = max(open(s.drawn+charge/2)-l.Supply*s.internal, leastVolts*b.Pack.Full)
	s.winding = settled + (s.winding-settled)*decay
	s.drawn += charge
	return c
}

// warm is copper's resistance at a temperature as a multiple of that at 25 °C.
func warm(celsius float64) float64 { return 1 + copperPerKelvin*(celsius-reference) }
