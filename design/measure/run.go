package measure

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"fairrun/design"
	"fairrun/design/fault"
	"fairrun/design/log"
	"fairrun/design/unit"
	"fairrun/stats/trace"
)

// ErrNoMeasure says that a plan measures nothing from logs.
var ErrNoMeasure = errors.New(`no response of the plan has a measure; add measure = { what = …, of = … } to a [[response]], and [log], which "fairrun measure --inspect FILE" proposes`)

// Check returns ErrNoMeasure for a plan that measures nothing from logs.
func Check(c *design.Plan) error {
	if !measures(c) {
		return ErrNoMeasure
	}
	return nil
}

// worker measures the runs of one plan.
type worker struct {
	plan   *design.Plan
	dir    string
	layout log.Selection
	names  []string // of the layout's columns
}

// newWorker finds out which columns the measures of a plan need.
func newWorker(dir string, c *design.Plan) (*worker, error) {
	if err := Check(c); err != nil {
		return nil, err
	}
	w := &worker{plan: c, dir: dir}
	w.layout.Time = log.Time{Header: c.Log.Time.Header, Unit: known(c.Log.Time.Unit), Clock: c.Log.Time.Clock, Rate: c.Log.Time.Rate}
	for _, column := range c.Log.Columns {
		for _, r := range c.Responses {
			if needs(c, r.Measure, column.Name) {
				w.names = append(w.names, column.Name)
				w.layout.Columns = append(w.layout.Columns, log.Column{Header: column.Header, Unit: known(column.Unit)})
				break
			}
		}
	}
	return w, nil
}

// needs reports whether a measure needs a column of the log.
func needs(c *design.Plan, m *design.Measure, column string) bool {
	if m == nil {
		return false
	}
	for _, name := range []string{m.Of, m.Over, m.Command} {
		for _, of := range c.LogColumns(name) {
			if of.Name == column {
				return true
			}
		}
	}
	return false
}

// known is a unit that was checked when the plan was read.
func known(text string) unit.Unit {
	u, err := unit.Parse(text)
	if err != nil {
		panic("measure: " + err.Error())
	}
	return u
}

// run measures one run. Of a log that cannot be read all values are missing, for the reason that is
// the error.
func (w *worker) run(ctx context.Context, s LogFile) (Run, error) {
	run := Run{Run: s.Run, File: s.File}
	path, err := within(w.dir, s.File)
	if err == nil {
		var l *log.Log
		if l, err = log.Read(ctx, path, w.layout); err == nil {
			run.SHA256 = l.SHA256
			w.measure(l, &run)
			return run, nil
		}
	}
	if ctx.Err() != nil {
		return run, ctx.Err()
	}
	reason := "the log cannot be read"
	if found := fault.In(err); len(found) > 0 {
		reason = found[0].Found
	}
	for _, r := range w.plan.Responses {
		if r.Measure != nil {
			run.Values = append(run.Values, w.missing(&r, reason))
		}
	}
	return run, err
}

// missing is a value that is not there.
func (w *worker) missing(r *design.Response, reason string) Value {
	return Value{Response: r.Name, Unit: r.Unit, Definition: w.definition(r.Measure), Edges: []float64{}, Notes: []string{}, Reason: &reason}
}

// definition says what is measured, and in which columns.
func (w *worker) definition(m *design.Measure) string {
	var b strings.Builder
	b.WriteString(m.String())
	for _, s := range w.plan.Signals {
		if w.computes(m, s.Name) {
			fmt.Fprintf(&b, "; %s is %s in %s", s.Name, s.Formula, cmp.Or(s.Unit, "no unit"))
		}
	}
	for _, c := range w.plan.Log.Columns {
		if !needs(w.plan, m, c.Name) {
			continue
		}
		fmt.Fprintf(&b, "; %s is %q in %s", c.Name, c.Header, c.Unit)
		if c.Delay != 0 {
			fmt.Fprintf(&b, ", late by %v s", c.Delay)
		}
		if c.Zero {
			b.WriteString(", less its start")
		}
	}
	switch t := w.plan.Log.Time; {
	case t.Header == "":
		fmt.Fprintf(&b, "; %v rows a second", t.Rate)
	case t.Clock:
		fmt.Fprintf(&b, "; time is %q, a clock", t.Header)
	default:
		fmt.Fprintf(&b, "; time is %q", t.Header)
		if t.Unit != "" {
			b.WriteString(" in " + t.Unit)
		}
	}
	return b.String()
}

// mostBackward is the share of rows whose stamps may not be later than the one before.
const mostBackward = 0.1

// measure measures all responses of a log that was read.
func (w *worker) measure(l *log.Log, run *Run) {
	t := &tracer{worker: w, log: l, ready: map[string]*trace.Trace{}}
	for _, r := range w.plan.Responses {
		if r.Measure == nil {
			continue
		}
		v, err := w.value(r.Measure, t)
		if err == nil && v.Refused != "" {
			err = errors.New(v.Refused)
		}
		if err != nil {
			run.Values = append(run.Values, w.missing(&r, err.Error()))
			continue
		}
		run.Values = append(run.Values, w.converted(&r, v))
	}
	for i := range run.Values {
		v := &run.Values[i]
		for _, r := range w.plan.Responses {
			if r.Name == v.Response && v.Value != nil {
				v.Notes = append(v.Notes, w.ofZero(r.Measure)...)
			}
		}
	}
	if l.Cut {
		for i := range run.Values {
			run.Values[i].Notes = append(run.Values[i].Notes, "the last line of the log was cut short and is left out")
		}
	}
}

// ofZero notes that the uncertainty of a zero is not carried through a formula.
func (w *worker) ofZero(m *design.Measure) (notes []string) {
	for _, name := range []string{m.Of, m.Over} {
		if w.plan.Signal(name) == nil {
			continue
		}
		for _, c := range w.plan.LogColumns(name) {
			if c.Zero {
				notes = append(notes, fmt.Sprintf("the uncertainty of the zero of %s is not in that of %s", c.Name, name))
			}
		}
	}
	return notes
}

// value measures one response of a log.
func (w *worker) value(m *design.Measure, t *tracer) (trace.Value, error) {
	var r trace.Run
	var err error
	if r.Command, err = t.trace(m.Command, nil); err != nil {
		return trace.Value{}, err
	}
	if r.Of, err = t.trace(m.Of, r.Command); err != nil {
		return trace.Value{}, err
	}
	if r.Over, err = t.trace(m.Over, r.Command); err != nil {
		return trace.Value{}, err
	}
	for _, tr := range []*trace.Trace{r.Of, r.Over, r.Command} {
		if tr == nil {
			continue
		}
		if all := len(tr.Time) + tr.Dropped.Stamps; float64(tr.Dropped.Stamps) > mostBackward*float64(all) {
			return trace.Value{}, fmt.Errorf("time does not go on: %d of %d stamps are not later than one before", tr.Dropped.Stamps, all)
		}
	}
	return trace.Measure(w.defined(m), r)
}

// unitOf is the unit of a signal.
func (w *worker) unitOf(name string) unit.Unit {
	if c := w.plan.Log.Column(name); c != nil {
		return known(c.Unit)
	}
	if s := w.plan.Signal(name); s != nil {
		return known(s.Unit)
	}
	return unit.Unit{}
}

// defined turns the plan's definition into the one that is computed: values in the units of the columns,
// times in s.
func (w *worker) defined(m *design.Measure) trace.Definition {
	in := func(q design.Quantity, u unit.Unit) float64 {
		if q.Unit == "%" {
			return q.Value / u.Size()
		}
		return q.Value * ratio(known(q.Unit), u)
	}
	of, over, second := w.unitOf(m.Of), w.unitOf(m.Over), known("s")
	level := func(q design.Quantity) trace.Reference {
		if q.Unit == "%" {
			return trace.Share(q.Value)
		}
		return trace.Level(in(q, of))
	}
	d := trace.Definition{Falling: m.Falling}
	switch m.What {
	case design.MeasureTransition:
		d.What, d.From, d.To = trace.Transition, level(m.From), level(m.To)
	case design.MeasureDelay:
		d.What, d.To = trace.Delay, level(m.To)
	case design.MeasureSlope:
		d.What, d.Window = trace.Slope, in(m.Window, second)
	case design.MeasureOvershoot:
		d.What = trace.Overshoot
	case design.MeasureSettling:
		d.What, d.Within = trace.Settling, m.Within.Value
	case design.MeasureSteady:
		d.What = trace.Steady
	case design.MeasureHighest:
		d.What, d.Hold = trace.Highest, in(m.Hold, second)
	case design.MeasureValue:
		d.What, d.At = trace.Reading, in(m.At, over)
	case design.MeasureGradient:
		d.What, d.Low, d.High = trace.Gradient, in(m.From, over), in(m.To, over)
	case design.MeasureIntegral:
		d.What = trace.Integral
	case design.MeasureChange:
		d.What = trace.Change
	}
	return d
}

// ratio is what one of a unit is in another, which the plan's reader found to measure the same.
func ratio(u, v unit.Unit) float64 {
	x, err := u.In(v)
	if err != nil {
		panic("measure: " + err.Error())
	}
	return x
}

// converted gives a value in the response's unit.
func (w *worker) converted(r *design.Response, v trace.Value) Value {
	size := ratio(r.Measure.Unit(w.unitOf(r.Measure.Of), w.unitOf(r.Measure.Over)), known(r.Unit))
	in := func(x float64) *float64 {
		if math.IsNaN(x) {
			return nil
		}
		x *= size
		return &x
	}
	out := Value{Response: r.Name, Unit: r.Unit, Definition: w.definition(r.Measure), Value: in(v.Value), Uncertainty: in(v.Uncertainty),
		Edges: v.Edges, Spread: in(v.Spread), Hysteresis: in(v.Hysteresis), Notes: v.Notes}
	if r.Measure.OverSteps() {
		out.Steps = v.Steps
	}
	if r.Measure.What == design.MeasureSteady {
		out.Drift = in(v.Drift)
	}
	if out.Edges == nil {
		out.Edges = []float64{}
	}
	if out.Notes == nil {
		out.Notes = []string{}
	}
	return out
}
