package trace

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Measure measures one run. A log that cannot carry the measure gives a value that is
// Refused. The error is a definition that makes no sense, or a signal that it needs and
// the run does not have.
func Measure(d Definition, r Run) (Value, error) {
	if err := d.check(r); err != nil {
		return Value{}, err
	}
	if len(r.Of.Time) == 0 {
		return refused(refusedf("the log has no rows")), nil
	}
	switch d.What {
	case Steady:
		return d.steady(r), nil
	case Highest:
		return d.highest(r), nil
	case Reading:
		return d.reading(r), nil
	case Gradient:
		return d.gradient(r), nil
	case Integral:
		return d.integral(r), nil
	case Change:
		return d.change(r), nil
	}
	return d.overSteps(Steps(r.Of, r.Command)), nil
}

// check finds fault with a definition.
func (d Definition) check(r Run) error {
	if r.Of == nil {
		return errors.New("trace: the run has no signal to measure")
	}
	within := func(x float64) bool { return x > 0 && x < 1 }
	level := func(l Reference) bool { return l.absolute && finite(l.value) || !l.absolute && within(l.share) }
	switch d.What {
	case Transition:
		if !level(d.From) || !level(d.To) {
			return errors.New("trace: a transition needs two levels; shares of the step lie between 0 and 1")
		}
		if d.From.absolute == d.To.absolute && (d.From.share == d.To.share && d.From.value == d.To.value) {
			return errors.New("trace: the two levels of a transition are one")
		}
	case Delay:
		if !level(d.To) {
			return errors.New("trace: a delay needs the level it ends at; a share of the step lies between 0 and 1")
		}
		if r.Command == nil {
			return errors.New("trace: a delay needs the command")
		}
	case Settling:
		if !within(d.Within) {
			return errors.New("trace: settling needs a band, a share of the step between 0 and 1")
		}
	case Slope:
		if !(d.Window > 0) {
			return errors.New("trace: a slope needs a window longer than 0")
		}
	case Highest:
		if !(d.Hold > 0) {
			return errors.New("trace: the highest mean needs a hold longer than 0")
		}
	case Reading, Gradient:
		if r.Over == nil {
			return errors.New("trace: the run has no signal to measure over")
		}
		if d.What == Reading && !finite(d.At) {
			return errors.New("trace: a reading needs the value it is read at")
		}
		if d.What == Gradient && !(d.Low < d.High) {
			return errors.New("trace: a gradient needs a range")
		}
	case Overshoot, Steady, Integral, Change:
	default:
		return fmt.Errorf("trace: unknown measure %d", d.What)
	}
	return nil
}

func refused(err error) Value {
	return Value{Value: math.NaN(), Uncertainty: math.NaN(), Spread: math.NaN(), Drift: math.NaN(),
		Hysteresis: math.NaN(), Refused: err.Error()}
}

func measured(value, u float64, edges ...float64) Value {
	return Value{Value: value, Uncertainty: u, Edges: edges, Steps: 1,
		Spread: math.NaN(), Drift: math.NaN(), Hysteresis: math.NaN()}
}

// ofStep measures one step that is not refused.
func (d Definition) ofStep(s *Step) (Value, error) {
	switch d.What {
	case Transition:
		return s.transition(d.From, d.To)
	case Delay:
		return s.delay(d.To)
	case Settling:
		return s.settling(d.Within)
	case Overshoot:
		return s.overshoot()
	case Slope:
		return s.steepest(d.Window)
	default:
		return s.steady()
	}
}

// overSteps measures the steps of the direction that is asked for and takes their mean.
// A step that the log does not hold whole is left out with a note; one that is refused
// for what it is refuses the run, since the others would be a selection.
func (d Definition) overSteps(steps []Step) Value {
	var values []Value
	var refusals []error
	var notes []string
	quickest := math.Inf(1)
	for i := range steps {
		s := &steps[i]
		if s.Falling != d.Falling {
			continue
		}
		v, err := Value{}, s.Refused
		if d.What == Steady {
			err = s.unsettled
		}
		if err == nil {
			v, err = d.ofStep(s)
		}
		if err != nil {
			refusals = append(refusals, err)
			notes = append(notes, fmt.Sprintf("the step at %.4g s is left out: %v", s.edge, err))
			continue
		}
		quickest = min(quickest, s.span())
		values = append(values, v)
	}
	for _, err := range refusals {
		if len(values) == 0 || steered(err, quickest) {
			return refused(err)
		}
	}
	if len(values) == 0 {
		return refused(d.noStep())
	}
	return mean(values, notes)
}

func (d Definition) noStep() error {
	if d.Falling {
		return refusedf("no step: nothing falls")
	}
	return refusedf("no step: nothing rises")
}

// mean averages the values of several steps.
func mean(values []Value, notes []string) Value {
	k := float64(len(values))
	m := values[0]
	m.Steps = len(values)
	m.Notes = append(notes, m.Notes...)
	if len(values) == 1 {
		return m
	}
	var variance float64
	m.Value, m.Edges, m.Drift = 0, nil, 0
	for _, v := range values {
		m.Value += v.Value / k
		m.Drift += v.Drift / k
		variance += v.Uncertainty * v.Uncertainty
		m.Edges = append(m.Edges, v.Edges...)
	}
	for _, v := range values[1:] {
		for _, note := range v.Notes {
			if !slices.Contains(m.Notes, note) {
				m.Notes = append(m.Notes, note)
			}
		}
	}
	m.Uncertainty = math.Sqrt(variance) / k
	var square float64
	for _, v := range values {
		square += (v.Value - m.Value) * (v.Value - m.Value)
	}
	m.Spread = math.Sqrt(square / (k - 1))
	return m
}
