package measure

import (
	"errors"
	"fmt"
	"slices"

	"fairrun/design"
	"fairrun/design/formula"
	"fairrun/design/log"
	"fairrun/design/unit"
	"fairrun/stats/trace"
)

// tracer makes the signals of one log ready to be measured, each once.
type tracer struct {
	*worker
	log   *log.Log
	ready map[string]*trace.Trace
}

// trace is the signal of a name, nil of none. The zero of columns that have one is read before the first
// edge of the command. The error is a reason why the log does not give it.
func (t *tracer) trace(name string, command *trace.Trace) (*trace.Trace, error) {
	if name == "" {
		return nil, nil
	}
	c := t.plan.Log.Column(name)
	if c == nil {
		return t.computed(t.plan.Signal(name), command)
	}
	tr := t.column(c)
	if !c.Zero {
		return tr, nil
	}
	before, err := firstEdge(command)
	if err != nil {
		return nil, err
	}
	return tr.Zeroed(before)
}

// column is a column of the log as it stands there.
func (t *tracer) column(c *design.LogColumn) *trace.Trace {
	if t.ready[c.Name] == nil {
		t.ready[c.Name] = trace.Prepare(trace.Signal{Time: t.log.Time, Value: t.values(c), Delay: c.Delay})
	}
	return t.ready[c.Name]
}

func (t *tracer) values(c *design.LogColumn) []float64 {
	return t.log.Columns[slices.Index(t.names, c.Name)]
}

func firstEdge(command *trace.Trace) (float64, error) {
	if command != nil {
		if edges := command.CommandEdges(); len(edges) > 0 {
			return edges[0].Time, nil
		}
	}
	return 0, errors.New("no zero can be read: the command never changes")
}

// computed is a signal that a formula gives.
func (t *tracer) computed(s *design.Signal, command *trace.Trace) (*trace.Trace, error) {
	if t.ready[s.Name] != nil {
		return t.ready[s.Name], nil
	}
	var columns []formula.Column
	units := map[string]unit.Unit{}
	zeros := false
	for _, c := range t.plan.LogColumns(s.Name) {
		values := t.values(c)
		if c.Zero {
			zero, err := t.zero(c, command)
			if err != nil {
				return nil, err
			}
			values = slices.Clone(values)
			for i := range values {
				values[i] -= zero
			}
			zeros = true
		}
		columns = append(columns, formula.Column{Name: c.Name, Value: values, Delay: c.Delay})
		units[c.Name] = known(c.Unit)
	}
	signals := formula.Align(t.log.Time, columns)
	for i := range t.plan.Signals {
		of := &t.plan.Signals[i]
		f, err := formula.Parse(of.Formula, units)
		if err != nil {
			continue // it needs columns that this one does not
		}
		if signals.Values[of.Name], err = f.Eval(signals, known(of.Unit)); err != nil {
			return nil, fmt.Errorf("%s: %w", of.Name, err)
		}
		units[of.Name] = known(of.Unit)
		if of.Name == s.Name {
			break
		}
	}
	tr := trace.Prepare(trace.Signal{Time: signals.Time, Value: signals.Values[s.Name]})
	if !zeros { // with one it depends on the command
		t.ready[s.Name] = tr
	}
	return tr, nil
}

// zero is the mean of a column before the first edge of the command.
func (t *tracer) zero(c *design.LogColumn, command *trace.Trace) (float64, error) {
	before, err := firstEdge(command)
	if err != nil {
		return 0, err
	}
	tr := t.column(c)
	zeroed, err := tr.Zeroed(before)
	if err != nil {
		return 0, err
	}
	return tr.Value[0] - zeroed.Value[0], nil
}

// computes reports whether a measure needs a signal, itself or within the formula of another.
func (w *worker) computes(m *design.Measure, name string) bool {
	needed := map[string]bool{m.Of: true, m.Over: true, m.Command: true}
	for i := len(w.plan.Signals) - 1; i >= 0; i-- {
		s := &w.plan.Signals[i]
		if !needed[s.Name] {
			continue
		}
		units := map[string]unit.Unit{}
		for _, c := range w.plan.Log.Columns {
			units[c.Name] = known(c.Unit)
		}
		for _, of := range w.plan.Signals[:i] {
			units[of.Name] = known(of.Unit)
		}
		if f, err := formula.Parse(s.Formula, units); err == nil {
			for _, n := range f.Names {
				needed[n] = true
			}
		}
	}
	return needed[name] && w.plan.Signal(name) != nil
}
