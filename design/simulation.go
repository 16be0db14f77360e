package design

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Simulation is the bench on which "fairrun rehearse" tries the plan. It is no part of the plan's
// meaning: neither the draw nor the verdict depends on it.
//
// The zero value is not a bench; DefaultSimulation is one, and the keys of [simulation] take the
// place of its fields.
type Simulation struct {
	Ambient     float64       // temperature in °C of the water or air that cools the motor
	Heat        float64       // kelvin above ambient at which a cold motor's losses would settle if a run never ended
	WarmUp      time.Duration // time constant of the winding's heating and cooling
	Run         time.Duration // how long a run takes
	Rest        time.Duration // pause before a run
	Swap        time.Duration // pause before the first run of a block
	Sag         float64       // share of a full pack's voltage at rest that is gone once it is empty
	Drop        float64       // share of a full pack's voltage that is lost over its internal resistance in a run
	Used        float64       // share of its charge that a block takes from a pack
	Spread      float64       // relative standard deviation of capacity and resistance between packs
	Failures    float64       // chance that a run fails
	Outliers    float64       // chance that a run is an outlier
	OutlierSize float64       // standard deviation of an outlier, in units of the noise
	Interplay   float64       // standard deviation from unit to unit of what a level does, in units of the noise; 0 with one unit
	Loads       []Load        // factors whose levels change the current, in the plan's order
	Responses   []Reaction    // of each response, in the plan's order
}

// Load says how much current each level of a factor draws, relative to any one current. What a level's
// current does to its own run is part of that level's effect; rehearsed is what it leaves to
// the runs after it, heat and an emptier pack.
type Load struct {
	Factor  string
	Current []float64 // of each level
}

// Reaction says how a response reacts to the bench: it is proportional to
//
//	voltage^Volts · resistance^Copper
//
// with the voltage under load and the resistance of the copper at the winding's temperature.
type Reaction struct {
	Response      string
	Volts, Copper float64
	Mean          float64 // of the response, in its unit; any number will do where all else is relative
	Noise         Amount  // standard deviation from run to run
	Assumed       bool    // Noise stands in for what neither the plan nor [simulation] says
	Difference    Amount  // true difference whose finding is rehearsed; not Set: none
}

// DefaultSimulation returns the bench that stands for a plan that says nothing of it: a motor that
// would warm by 40 K, packs that lose a sixth of their voltage, now and then a run that fails
// or strays. Times and use of the pack are those of the budget if there is one.
//
// As the pack sags and the winding warms every response gets worse: in proportion to
// voltage, and by the root of the resistance. Its noise is the plan's, or 1.5 %; the difference is the
// margin. The mean of a response in absolute terms is put where the noise is 1.5 % of it or,
// without a noise, the margin 2 %.
//
// Several units answer a little differently to the same level: by a quarter of the noise.
func (c *Plan) DefaultSimulation() *Simulation {
	s := &Simulation{
		Ambient: 20, Heat: 40, WarmUp: 4 * time.Minute,
		Run: 30 * time.Second, Rest: time.Minute, Swap: 10 * time.Minute,
		Sag: 0.16, Drop: 0.04, Used: defaultUsable, Spread: 0.04,
		Failures: 0.01, Outliers: 0.01, OutlierSize: 4,
	}
	if b := c.Budget; b != nil {
		s.Run, s.Rest, s.Swap = b.Run, b.Rest, b.Swap
		if b.Supply != nil {
			s.Used = min(1, float64(c.RunsPerBlock())*b.Supply.PerRun/b.Supply.Capacity)
		}
	}
	if c.several() {
		s.Interplay = defaultInterplay
	}
	for _, p := range c.Responses {
		r := Reaction{Response: p.Name, Volts: 1, Copper: -0.5, Mean: 1, Noise: p.Noise, Difference: p.Margin}
		if p.Better == BetterLower {
			r.Volts, r.Copper = -1, 0.5
		}
		if !r.Noise.Set {
			r.Noise, r.Assumed = Amount{Set: true, Value: defaultNoise, Relative: true}, true
		}
		switch {
		case !r.Noise.Relative:
			r.Mean = r.Noise.Value / defaultNoise
		case p.Margin.Set && !p.Margin.Relative:
			r.Mean = p.Margin.Value / 0.02
		}
		s.Responses = append(s.Responses, r)
	}
	return s
}

// defaultNoise is the relative noise that is simulated when the plan assumes none.
const defaultNoise = 0.015

// defaultInterplay is how differently units answer when the plan does not say, over the noise from run to run. It is
// a guess on the small side: none would claim what several units are tested to find out.
const defaultInterplay = 0.25

// several reports whether more than one unit of a type is tested.
func (c *Plan) several() bool { return c.Units != nil && c.Units.Count > 1 }

// simulation reads [simulation] of a plan whose factors, units, responses and budget were read.
func (r *planReader) simulation(t *table, c *Plan) *Simulation {
	sim := c.DefaultSimulation()
	s := r.section(t, "[simulation]", "ambient", "heat", "warm_up", "run", "rest", "swap", "sag", "drop", "used", "spread",
		"failures", "outliers", "outlier_size", "interplay", "load", "response")
	s.temperature("ambient", "°C", -60, 100, &sim.Ambient)
	s.temperature("heat", "K", 0, 300, &sim.Heat)
	for _, d := range []struct {
		key string
		at  *time.Duration
	}{{"warm_up", &sim.WarmUp}, {"run", &sim.Run}, {"rest", &sim.Rest}, {"swap", &sim.Swap}} {
		if x, found, ok := s.duration(d.key); found && ok {
			*d.at = x
		}
	}
	s.portion("sag", 0.5, &sim.Sag)
	s.portion("drop", 0.3, &sim.Drop)
	s.portion("used", 1, &sim.Used)
	s.portion("spread", 0.3, &sim.Spread)
	s.portion("failures", 0.5, &sim.Failures)
	s.portion("outliers", 0.5, &sim.Outliers)
	s.between("outlier_size", 1, 100, &sim.OutlierSize)
	if s.portion("interplay", 10, &sim.Interplay); t.byKey["interplay"] != nil && !c.several() {
		s.add(t.byKey["interplay"].at, "interplay says how differently units answer, and the plan has no more than one", "add [units], or leave interplay out")
	}
	if load := s.sub("load", "[simulation.load]"); load != nil {
		sim.Loads = r.loads(load, c.Factors)
	}
	if response := s.sub("response", "[simulation.response.NAME]"); response != nil {
		r.reactions(response, c, sim)
	}
	return sim
}

// temperature reads a number of degrees or kelvin, written as a text with its unit.
func (s section) temperature(key, unit string, least, most float64, at *float64) {
	e := s.table.byKey[key]
	if e == nil {
		return
	}
	v := e.value
	x, ok := 0.0, false
	if v.kind == kindText {
		digits, hasUnit := strings.CutSuffix(v.text, unit)
		digits = strings.TrimSpace(digits)
		if hasUnit && plainDecimal(strings.TrimPrefix(digits, "-")) {
			var err error
			x, err = strconv.ParseFloat(digits, 64)
			ok = err == nil && x >= least && x <= most
		}
	}
	if !ok {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), fmt.Sprintf("write a number from %v to %v and its unit, such as \"20 %s\"", least, most, unit))
		return
	}
	*at = x
}

// portion reads a share from nothing up to a limit: a percentage in quotes or a number.
func (s section) portion(key string, most float64, at *float64) {
	e := s.table.byKey[key]
	if e == nil {
		return
	}
	v := e.value
	x, ok := parsePercent(v.text)
	if v.kind != kindText {
		var what string
		x, what, _ = v.number()
		ok = what == ""
	}
	if !ok || !(x >= 0 && x <= most) {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), fmt.Sprintf("write a percentage from 0 up to %v, such as \"4%%\"", 100*most))
		return
	}
	*at = x
}

// between reads a number within limits.
func (s section) between(key string, least, most float64, at *float64) {
	x, found, ok := s.number(key)
	if !found || !ok {
		return
	}
	if !(x >= least && x <= most) {
		v := s.table.byKey[key].value
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.text), fmt.Sprintf("write a number from %v to %v", least, most))
		return
	}
	*at = x
}

// loads reads [simulation.load]: for each factor that changes the current, a number for each level.
func (r *planReader) loads(t *table, factors []Factor) []Load {
	var known []string
	for _, f := range factors {
		known = append(known, f.Name)
	}
	s := r.section(t, "[simulation.load]", known...)
	var loads []Load
	for _, f := range factors {
		e := t.byKey[f.Name]
		if e == nil {
			continue
		}
		if x, ok := s.currents(e, len(f.Levels)); ok {
			loads = append(loads, Load{Factor: f.Name, Current: x})
		}
	}
	return loads
}

func (s section) currents(e *entry, levels int) (x []float64, ok bool) {
	v := e.value
	do := fmt.Sprintf("write a list of %d numbers, one a level: its current relative to any one current, such as 1.05", levels)
	if v.kind != kindList {
		s.add(v.at, fmt.Sprintf("%s is %s", e.key, v.describe()), do)
		return nil, false
	}
	if len(v.items) != levels {
		s.add(v.at, fmt.Sprintf("%s has %d currents for %d levels", e.key, len(v.items), levels), do)
		return nil, false
	}
	for _, item := range v.items {
		current, what, _ := item.number()
		if what == "" && !(current > 0 && current <= 5) {
			what = item.text
		}
		if what != "" {
			s.add(item.at, "a current is "+what, "write a number above 0 and up to 5")
			return nil, false
		}
		x = append(x, current)
	}
	return x, true
}

// reactions reads [simulation.response], a table for each response that has something to say.
func (r *planReader) reactions(t *table, c *Plan, sim *Simulation) {
	var known []string
	for _, p := range c.Responses {
		known = append(known, p.Name)
	}
	s := r.section(t, "[simulation.response]", known...)
	for i, p := range c.Responses {
		if t.byKey[p.Name] == nil || slices.Index(known, p.Name) != i {
			continue
		}
		name := "[simulation.response." + p.Name + "]"
		if own := s.sub(p.Name, name); own != nil {
			r.section(own, name, "volts", "copper", "mean", "noise", "difference").reaction(p, &sim.Responses[i])
		}
	}
}

func (s section) reaction(p Response, at *Reaction) {
	s.between("volts", -10, 10, &at.Volts)
	s.between("copper", -10, 10, &at.Copper)
	for _, a := range []struct {
		key string
		at  *Amount
	}{{"noise", &at.Noise}, {"difference", &at.Difference}} {
		x, ok := s.amount(a.key, p.Unit)
		if !ok || !x.Set {
			continue
		}
		if p.Margin.Set && x.Relative != p.Margin.Relative {
			s.add(s.table.byKey[a.key].value.at, fmt.Sprintf("%s is %s and the margin %s: one is a percentage and the other is not", a.key, x, p.Margin),
				"write it as the margin is written, so that they can be compared")
			continue
		}
		*a.at = x
		at.Assumed = at.Assumed && a.key != "noise"
	}
	s.between("mean", 1e-12, 1e12, &at.Mean)
}
