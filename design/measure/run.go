package measure

import (
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

// worker measures the runs of one plan.
type worker struct {
	plan   *design.Plan
	dir    string
	layout log.Selection
	names  []string // of the layout's columns
}

// newWorker finds out which columns the measures of a plan need.
func newWorker(dir string, c *design.Plan) (*worker, error) {
	if !measures(c) {
		return nil, ErrNoMeasure
	}
	w := &worker{plan: c, dir: dir}
	w.layout.Time = log.Time{Header: c.Log.Time.Header, Unit: known(c.Log.Time.Unit), Clock: c.Log.Time.Clock, Rate: c.Log.Time.Rate}
	for _, column := range c.Log.Columns {
		for _, r := range c.Responses {
			if m := r.Measure; m != nil && (m.Of == column.Name || m.Over == column.Name || m.Command == column.Name) {
				w.names = append(w.names, column.Name)
				w.layout.Columns = append(w.layout.Columns, log.Column{Header: column.Header, Unit: known(column.Unit)})
				break
			}
		}
	}
	return w, nil
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
	for _, name := range []string{m.Of, m.Over, m.Command} {
		c := w.plan.Log.Column(name)
		if c == nil || name == m.Over && m.Over == m.Of || name == m.Command && (m.Command == m.Of || m.Command == m.Over) {
			continue
		}
		fmt.Fprintf(&b, "; %s is %q in %s", name, c.Header, c.Unit)
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
	traces := map[string]*trace.Trace{}
	of := func(name string) *trace.Trace {
		if name == "" {
			return nil
		}
		if traces[name] == nil {
			for i, n := range w.names {
				if n == name {
					traces[name] = trace.Prepare(trace.Signal{Time: l.Time, Value: l.Columns[i], Delay: w.plan.Log.Column(name).Delay})
				}
			}
		}
		return traces[name]
	}
	for _, r := range w.plan.Responses {
		if r.Measure == nil {
			continue
		}
		v, err := w.value(r.Measure, of)
		if err == nil && v.Refused != "" {
			err = errors.New(v.Refused)
		}
		if err != nil {
			run.Values = append(run.Values, w.missing(&r, err.Error()))
			continue
		}
		run.Values = append(run.Values, w.converted(&r, v))
	}
	if l.Cut {
		for i := range run.Values {
			run.Values[i].Notes = append(run.Values[i].Notes, "the last line of the log was cut short and is left out")
		}
	}
}

// value measures one response of a log.
func (w *worker) value(m *design.Measure, of func(string) *trace.Trace) (trace.Value, error) {
	r := trace.Run{Of: of(m.Of), Over: of(m.Over), Command: of(m.Command)}
	for _, tr := range []*trace.Trace{r.Of, r.Over, r.Command} {
		if tr == nil {
			continue
		}
		if all := len(tr.Time) + tr.Dropped.Stamps; float64(tr.Dropped.Stamps) > mostBackward*float64(all) {
			return trace.Value{}, fmt.Errorf("time does not go on: %d of %d stamps are not later than one before", tr.Dropped.Stamps, all)
		}
	}
	var err error
	if r.Of, err = w.zeroed(m.Of, r.Of, r.Command); err != nil {
		return trace.Value{}, err
	}
	if r.Over, err = w.zeroed(m.Over, r.Over, r.Command); err != nil {
		return trace.Value{}, err
	}
	return trace.Measure(w.defined(m), r)
}

// zeroed takes the zero off a signal whose column has one.
func (w *worker) zeroed(name string, tr, command *trace.Trace) (*trace.Trace, error) {
	c := w.plan.Log.Column(name)
	if tr == nil || c == nil || !c.Zero {
		return tr, nil
	}
	edges := command.CommandEdges()
	if len(edges) == 0 {
		return nil, errors.New("no zero can be read: the command never changes")
	}
	return tr.Zeroed(edges[0].Time)
}

// unitOf is the unit of a signal.
func (w *worker) unitOf(name string) unit.Unit {
	if c := w.plan.Log.Column(name); c != nil {
		return known(c.Unit)
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
