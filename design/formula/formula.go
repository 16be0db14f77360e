// Package formula computes a signal from others by a formula such as "thrust / (volts * amps)", and
// checks its units.
//
// In go the text of a formula and the unit of each signal it may name; out comes a [Formula], whose unit
// is known before there are numbers. [Formula.Eval] takes the signals, all at the same instants, to the
// new one. Everything is computed in SI base units, so that V times A are W and gf
// over W are N over W.
//
// A formula has numbers, signals, quantities in quotes ("1e-4 kg·m²"), + - * / ^ with a whole power,
// and the functions of functions.go. The grammar is that of github.com/expr-lang/expr, which
// reads it. Read formula.go first; functions.go says what may be called.
package formula

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"

	"fairrun/design/unit"
	"fairrun/stats/words"
)

// Formula is a formula that was read and whose dimensions fit.
type Formula struct {
	Unit  unit.Unit // of what comes out
	Names []string  // of the signals it names, in their order, each once
	eval  term
}

// Signals are the values of signals at the same instants.
type Signals struct {
	Time   []float64 // s
	Values map[string][]float64
}

// term computes a part of a formula in SI base units; a constant has one value.
type term func(s *Signals) []float64

// mostText bounds a formula.
const mostText = 500

// Parse reads a formula over signals of known units.
func Parse(text string, units map[string]unit.Unit) (*Formula, error) {
	if len(text) > mostText {
		return nil, fmt.Errorf("a formula has %d bytes at most", mostText)
	}
	tree, err := parser.Parse(text)
	if err != nil {
		var at *file.Error
		if errors.As(err, &at) {
			return nil, fmt.Errorf("at character %d: %s", at.Column+1, at.Message)
		}
		return nil, err
	}
	p := reader{units: units}
	part, err := p.read(tree.Node)
	if err != nil {
		return nil, err
	}
	if len(p.names) == 0 {
		return nil, errors.New("the formula names no signal")
	}
	return &Formula{Unit: part.unit, Names: p.names, eval: part.eval}, nil
}

// Eval computes the formula in a unit, which measures what its own does. What is no finite number, as
// after a division by 0, is NaN.
func (f *Formula) Eval(s *Signals, in unit.Unit) ([]float64, error) {
	size, err := f.Unit.SI().In(in)
	if err != nil {
		return nil, err
	}
	x := f.eval(s)
	out := make([]float64, len(s.Time))
	for i := range out {
		v := at(x, i) * size
		if math.IsInf(v, 0) {
			v = math.NaN()
		}
		out[i] = v
	}
	return out, nil
}

// at is a value of a term at a row.
func at(x []float64, i int) float64 {
	if len(x) == 1 {
		return x[0]
	}
	return x[i]
}

// part is a part of a formula.
type part struct {
	unit  unit.Unit
	eval  term
	whole *int // a whole number that was written out, as a power has to be
}

type reader struct {
	units map[string]unit.Unit
	names []string
}

func constant(x float64, u unit.Unit) part {
	si := []float64{x * u.Size()}
	return part{unit: u, eval: func(*Signals) []float64 { return si }}
}

func (r *reader) read(node ast.Node) (part, error) {
	switch n := node.(type) {
	case *ast.IntegerNode:
		p := constant(float64(n.Value), unit.Unit{})
		p.whole = &n.Value
		return p, nil
	case *ast.FloatNode:
		return constant(n.Value, unit.Unit{}), nil
	case *ast.StringNode:
		return quantity(n.Value)
	case *ast.IdentifierNode:
		return r.signal(n.Value)
	case *ast.UnaryNode:
		return r.unary(n)
	case *ast.BinaryNode:
		return r.binary(n)
	case *ast.CallNode:
		if name, ok := n.Callee.(*ast.IdentifierNode); ok {
			return r.call(name.Value, n.Arguments)
		}
	case *ast.BuiltinNode:
		return r.call(n.Name, n.Arguments)
	}
	return part{}, fmt.Errorf("at character %d: a formula has numbers, signals, quantities in quotes, + - * / ^ and functions alone", node.Location().From+1)
}

// quantity reads a number with a unit.
func quantity(text string) (part, error) {
	number, of, _ := strings.Cut(strings.TrimSpace(text), " ")
	x, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return part{}, fmt.Errorf("%q is no number with a unit, such as \"1e-4 kg·m²\"", text)
	}
	u, err := unit.Parse(of)
	if err != nil {
		return part{}, err
	}
	return constant(x, u), nil
}

func (r *reader) signal(name string) (part, error) {
	u, ok := r.units[name]
	if !ok {
		var names []string
		for n := range r.units {
			names = append(names, n)
		}
		slices.Sort(names)
		if near := words.Nearest(name, names); near != "" {
			return part{}, fmt.Errorf("there is no signal %q; did you mean %q?", name, near)
		}
		return part{}, fmt.Errorf("there is no signal %q; there are %s", name, words.List(words.Quoted(names), 12))
	}
	if !slices.Contains(r.names, name) {
		r.names = append(r.names, name)
	}
	size := u.Size()
	return part{unit: u, eval: func(s *Signals) []float64 {
		return each(len(s.Time), func(i int) float64 { return size * s.Values[name][i] })
	}}, nil
}

// each makes the values of a term.
func each(n int, f func(i int) float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = f(i)
	}
	return out
}

func (r *reader) unary(n *ast.UnaryNode) (part, error) {
	p, err := r.read(n.Node)
	if err != nil {
		return p, err
	}
	switch n.Operator {
	case "+":
		return p, nil
	case "-":
		if p.whole != nil {
			negative := -*p.whole
			p.whole = &negative
		}
		of := p.eval
		p.eval = func(s *Signals) []float64 {
			x := of(s)
			return each(len(x), func(i int) float64 { return -x[i] })
		}
		return p, nil
	}
	return part{}, fmt.Errorf("%q has no meaning in a formula", n.Operator)
}

func (r *reader) binary(n *ast.BinaryNode) (part, error) {
	a, err := r.read(n.Left)
	if err != nil {
		return a, err
	}
	b, err := r.read(n.Right)
	if err != nil {
		return b, err
	}
	var u unit.Unit
	var f func(x, y float64) float64
	switch n.Operator {
	case "+", "-":
		if !a.unit.Like(b.unit) {
			return part{}, fmt.Errorf("%s and %s cannot be added or taken from each other: they do not measure the same", saying(a.unit), saying(b.unit))
		}
		u = a.unit
		f = func(x, y float64) float64 { return x + y }
		if n.Operator == "-" {
			f = func(x, y float64) float64 { return x - y }
		}
	case "*":
		u, f = a.unit.Mul(b.unit), func(x, y float64) float64 { return x * y }
	case "/":
		u, f = a.unit.Div(b.unit), func(x, y float64) float64 { return x / y }
	case "^", "**":
		if b.whole == nil || *b.whole < -9 || *b.whole > 9 {
			return part{}, errors.New("a power is a whole number from -9 to 9; sqrt() takes the root")
		}
		u, f = a.unit.Power(*b.whole), math.Pow
	default:
		return part{}, fmt.Errorf("%q has no meaning in a formula", n.Operator)
	}
	return part{unit: u, eval: func(s *Signals) []float64 {
		x, y := a.eval(s), b.eval(s)
		return each(max(len(x), len(y)), func(i int) float64 { return f(at(x, i), at(y, i)) })
	}}, nil
}

// saying names a unit in a sentence.
func saying(u unit.Unit) string {
	switch {
	case u.String() != "":
		return u.String()
	case u.Pure():
		return "a number without unit"
	}
	return u.Base()
}
