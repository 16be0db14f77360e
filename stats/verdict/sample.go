package verdict

import (
	"fmt"
	"math"
	"strings"

	"fairrun/stats/words"
)

// sample is the good runs of one response on the scale of its analysis.
type sample struct {
	y        []float64 // deviations from centre; NaN where there is no good run
	centre   float64
	became   []Status // of each run
	unscaled string   // why the good runs cannot be put on the scale of the analysis; "" when they can
}

// measure puts the good runs of a response on the scale of its analysis. It returns an error as
// well if one cannot be put there; the response has no verdict then.
func measure(m Measured, status []Status, rowName func(row int) string) (sample, error) {
	var s sample
	values := m.Values
	if status != nil {
		values = values.Only(func(i int) bool { return status[i] == OK })
	}
	var deviations []float64
	if m.Scale == Log {
		var err error
		if s.centre, deviations, err = values.LogCentre(); err != nil {
			deviations = values.Floats()
			s.unscaled = notPositive(deviations, rowName)
		}
	} else {
		s.centre, deviations = values.Centre()
	}
	s.y = make([]float64, len(deviations))
	s.became = make([]Status, len(deviations))
	for i, v := range deviations {
		s.y[i] = math.NaN()
		switch {
		case status != nil && status[i] != OK:
			s.became[i] = status[i]
		case math.IsNaN(v):
			s.became[i] = Todo
		default:
			s.became[i], s.y[i] = OK, v
		}
	}
	if s.unscaled != "" {
		return s, refuse("response %s: %s: give an absolute margin, or use the raw scale", m.Name, s.unscaled)
	}
	return s, nil
}

// runs counts the rows by what became of them.
func (s *sample) runs() Runs {
	var n [Void + 1]int
	for _, status := range s.became {
		n[status]++
	}
	return Runs{OK: n[OK], Failed: n[Failed], Void: n[Void], Todo: n[Todo]}
}

// scaleCheck is the name of the check of a response that has no verdict since a value of it
// cannot be put on its scale.
const scaleCheck = "scale"

// Unscaled says why a response has no verdict, if it is that a value of it cannot be put on its
// scale; "" otherwise.
func (r *Response) Unscaled() string {
	for _, c := range r.Checks {
		if c.Name == scaleCheck {
			return c.Message
		}
	}
	return ""
}

// mostBlamed bounds the runs that are named for a value that has no logarithm.
const mostBlamed = 5

// notPositive says which runs hold values that are no ratios.
func notPositive(values []float64, rowName func(row int) string) string {
	var held []string
	more := 0
	for i, v := range values {
		switch {
		case !(v <= 0):
		case len(held) == mostBlamed:
			more++
		default:
			held = append(held, fmt.Sprintf("%s holds %v", rowName(i), v))
		}
	}
	text := strings.Join(held, ", ")
	if more > 0 {
		text += fmt.Sprintf(" and %s more", words.Count(more, "run"))
	}
	return text + "; a relative margin compares ratios, which need values above zero"
}

// rowName is what a person calls a row.
func (d *Data) rowName(row int) string {
	if d.Name != nil {
		return d.Name(row)
	}
	return fmt.Sprintf("row %d", row+1)
}

// mostRows is how many rows a message names.
const mostRows = 10

// rowNames names some rows.
func rowNames(rows []int, rowName func(row int) string) string {
	names := make([]string, len(rows))
	for k, i := range rows[:min(mostRows, len(rows))] {
		names[k] = rowName(i)
	}
	return words.List(names, mostRows)
}
