package formula

import (
	"fmt"
	"math"

	"github.com/expr-lang/expr/ast"

	"fairrun/design/unit"
)

// call reads a call of one of the functions:
//
//	abs(x)            without its sign
//	sqrt(x)           the root; the unit must have one
//	min(x, y), max    the smaller, the larger
//	rate(x, "20 ms")  by time: the slope of the least-squares line over a window around each row, which is
//	                  that of a local quadratic too
//	integral(x)       over time from the start, by trapezoids: charge, energy
func (r *reader) call(name string, nodes []ast.Node) (part, error) {
	want, known := map[string]int{"abs": 1, "sqrt": 1, "min": 2, "max": 2, "rate": 2, "integral": 1}[name]
	if !known {
		return part{}, fmt.Errorf("there is no function %s(); there are abs, sqrt, min, max, rate and integral", name)
	}
	if len(nodes) != want {
		return part{}, fmt.Errorf("%s() takes %d, and has %d", name, want, len(nodes))
	}
	var parts []part
	for _, n := range nodes {
		p, err := r.read(n)
		if err != nil {
			return p, err
		}
		parts = append(parts, p)
	}
	second, err := unit.Parse("s")
	if err != nil {
		return part{}, err
	}
	x := parts[0]
	switch name {
	case "abs":
		return part{unit: x.unit, eval: over(x, math.Abs)}, nil
	case "sqrt":
		root, ok := x.unit.Root()
		if !ok {
			return part{}, fmt.Errorf("%s has no root", saying(x.unit))
		}
		return part{unit: root, eval: over(x, math.Sqrt)}, nil
	case "min", "max":
		y := parts[1]
		if !x.unit.Like(y.unit) {
			return part{}, fmt.Errorf("%s and %s do not measure the same", saying(x.unit), saying(y.unit))
		}
		f := math.Min
		if name == "max" {
			f = math.Max
		}
		return part{unit: x.unit, eval: func(s *Signals) []float64 {
			a, b := x.eval(s), y.eval(s)
			return each(max(len(a), len(b)), func(i int) float64 { return f(at(a, i), at(b, i)) })
		}}, nil
	case "rate":
		_, ok := nodes[1].(*ast.StringNode)
		if !ok || !parts[1].unit.Like(second) || !(parts[1].eval(nil)[0] > 0) {
			return part{}, fmt.Errorf(`rate() needs its window in quotes: rate(rpm, "20 ms")`)
		}
		window := parts[1].eval(nil)[0]
		return part{unit: x.unit.Div(second), eval: func(s *Signals) []float64 { return rate(s.Time, full(x.eval(s), len(s.Time)), window) }}, nil
	}
	return part{unit: x.unit.Mul(second), eval: func(s *Signals) []float64 { return integral(s.Time, full(x.eval(s), len(s.Time))) }}, nil
}

func over(x part, f func(float64) float64) term {
	return func(s *Signals) []float64 {
		v := x.eval(s)
		return each(len(v), func(i int) float64 { return f(v[i]) })
	}
}

// full gives a constant at all rows.
func full(x []float64, n int) []float64 {
	if len(x) == n {
		return x
	}
	return each(n, func(int) float64 { return x[0] })
}

const rateRows = 4 // in a window at least

// rate is the slope of the least-squares line over a window around each row. At the ends, where the
// window is not whole, and where rows are too few, it is NaN.
func rate(t, x []float64, window float64) []float64 {
	out := make([]float64, len(t))
	first, last := 0, 0
	for i := range t {
		out[i] = math.NaN()
		from, to := t[i]-window/2, t[i]+window/2
		for first < len(t) && t[first] < from {
			first++
		}
		for last = max(last, first); last < len(t) && t[last] <= to; last++ {
			continue
		}
		if len(t) == 0 || t[0] > from || t[len(t)-1] < to || last-first < rateRows {
			continue
		}
		n := float64(last - first)
		var st, sx float64
		for k := first; k < last; k++ {
			st += t[k] - t[i]
			sx += x[k]
		}
		var stt, stx float64
		for k := first; k < last; k++ {
			d := t[k] - t[i] - st/n
			stt += d * d
			stx += d * (x[k] - sx/n)
		}
		if stt > 0 {
			out[i] = stx / stt
		}
	}
	return out
}

// integral is that from the start to each row, by trapezoids; rows without a value are passed over.
func integral(t, x []float64) []float64 {
	out := make([]float64, len(t))
	sum, last := 0.0, -1
	for i := range t {
		if math.IsNaN(x[i]) {
			out[i] = math.NaN()
			continue
		}
		if last >= 0 {
			sum += (t[i] - t[last]) * (x[i] + x[last]) / 2
		}
		out[i], last = sum, i
	}
	return out
}
