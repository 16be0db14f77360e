package design

import (
	"strings"

	"fairrun/design/unit"
)

// Log says where the logs of runs lie and what stands in them.
type Log struct {
	Files   string      // a pattern such as "logs/{run:02}.csv" for runs without a log in the sheet; "" for none
	Time    LogTime     // when a row was taken
	Columns []LogColumn // in the order of the file
}

// LogTime is the column of time or, without a Header, the sample rate.
type LogTime struct {
	Header string
	Unit   string  // of a number; "" as the log says, or s
	Clock  bool    // a time of day
	Rate   float64 // Hz
}

// LogColumn is a signal as it stands in a log.
type LogColumn struct {
	Name   string
	Header string  // over it in the log
	Unit   string  // in which it is counted
	Zero   bool    // the mean before the first command is taken off
	Delay  float64 // s by which the column comes late
}

// Signal is computed from columns and from signals before it.
type Signal struct {
	Name    string   `json:"name"`
	Unit    string   `json:"unit,omitempty"`
	Formula string   `json:"formula"`
	Columns []string `json:"-"` // of the log that it needs, those of the signals in its formula too
}

// Column returns the column of a name, nil if there is none.
func (l *Log) Column(name string) *LogColumn {
	for i := range l.Columns {
		if l.Columns[i].Name == name {
			return &l.Columns[i]
		}
	}
	return nil
}

// Measure says how a response is measured from a log. What decides which of the other fields count.
type Measure struct {
	What    string   `json:"what"`
	Of      string   `json:"of"`                // the signal
	Over    string   `json:"over,omitempty"`    // the signal it is read over: where of value, over of gradient
	Command string   `json:"command,omitempty"` // the signal whose edges begin the steps; "": they are found in the signal
	Falling bool     `json:"falling,omitempty"` // steps downward
	From    Quantity `json:"from,omitzero"`
	To      Quantity `json:"to,omitzero"`
	At      Quantity `json:"at,omitzero"`
	Within  Quantity `json:"within,omitzero"`
	Window  Quantity `json:"window,omitzero"`
	Hold    Quantity `json:"hold,omitzero"`
}

// Quantity is a number with its unit, as a plan writes it; of "10%" the share 0.1 with the unit "%".
type Quantity struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit,omitempty"`
}

// String writes a quantity as a plan does.
func (q Quantity) String() string {
	switch q.Unit {
	case "%":
		if q.Value < 0 {
			return "-" + percent(-q.Value)
		}
		return percent(q.Value)
	case "":
		return PlainNumber(q.Value)
	}
	return PlainNumber(q.Value) + " " + q.Unit
}

// What is measured.
const (
	MeasureTransition = "transition"
	MeasureDelay      = "delay"
	MeasureSlope      = "slope"
	MeasureOvershoot  = "overshoot"
	MeasureSettling   = "settling"
	MeasureSteady     = "steady"
	MeasureHighest    = "highest"
	MeasureValue      = "value"
	MeasureGradient   = "gradient"
	MeasureIntegral   = "integral"
	MeasureChange     = "change"
)

// String returns the definition in words: "transition of rpm from 10% to 90%, rising, command throttle".
func (m *Measure) String() string {
	if m == nil {
		return "none"
	}
	var b strings.Builder
	b.WriteString(m.What + " of " + m.Of)
	part := func(word string, q Quantity) {
		if q != (Quantity{}) {
			b.WriteString(" " + word + " " + q.String())
		}
	}
	switch m.What {
	case MeasureValue:
		b.WriteString(" where " + m.Over)
		part("is", m.At)
	case MeasureGradient:
		b.WriteString(" over " + m.Over)
	}
	if m.What == MeasureGradient || m.What == MeasureTransition {
		b.WriteString(" from " + m.From.String())
	}
	part("to", m.To)
	part("within", m.Within)
	part("over a window of", m.Window)
	part("held for", m.Hold)
	if m.OverSteps() {
		if m.Falling {
			b.WriteString(", falling")
		} else {
			b.WriteString(", rising")
		}
	}
	if m.Command != "" {
		b.WriteString(", command " + m.Command)
	}
	return b.String()
}

// OverSteps reports whether the measure is one of steps, and not of the whole log.
func (m *Measure) OverSteps() bool {
	switch m.What {
	case MeasureHighest, MeasureValue, MeasureGradient, MeasureIntegral, MeasureChange:
		return false
	}
	return true
}

// Unit is the unit of what comes out, where the signals have the units of and over.
func (m *Measure) Unit(of, over unit.Unit) unit.Unit {
	second, err := unit.Parse("s")
	if err != nil {
		panic("design: " + err.Error())
	}
	switch m.What {
	case MeasureTransition, MeasureDelay, MeasureSettling:
		return second
	case MeasureOvershoot:
		return unit.Unit{}
	case MeasureSlope:
		return of.Div(second)
	case MeasureIntegral:
		return of.Mul(second)
	case MeasureGradient:
		return of.Div(over)
	}
	return of
}

// Difference reports whether what comes out is a difference of values, so that a temperature in °C may
// be given in K.
func (m *Measure) Difference() bool {
	return m.What == MeasureChange || m.What == MeasureSlope || m.What == MeasureGradient
}

// Signal returns the signal of a name, nil if there is none.
func (c *Plan) Signal(name string) *Signal {
	for i := range c.Signals {
		if c.Signals[i].Name == name {
			return &c.Signals[i]
		}
	}
	return nil
}

// LogColumns are the columns of the log that a column or signal of a name needs.
func (c *Plan) LogColumns(name string) []*LogColumn {
	if c.Log == nil {
		return nil
	}
	if column := c.Log.Column(name); column != nil {
		return []*LogColumn{column}
	}
	var columns []*LogColumn
	if s := c.Signal(name); s != nil {
		for _, n := range s.Columns {
			columns = append(columns, c.Log.Column(n))
		}
	}
	return columns
}
