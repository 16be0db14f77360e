package verdict

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// Chosen is a contrast that the person asks for: a weighted sum of the adjusted
// means of one family, such as the mean of two levels less a third.
type Chosen struct {
	Name    string
	Factors Factors            // of the family: one factor, or with interactions all
	Weights map[string]float64 // of its levels; levels left out weigh nothing. They add to zero
}

// Contrast is a weighted sum of adjusted means on the scale of the analysis.
// Low and High hold together for all contrasts of one kind and factor.
type Contrast struct {
	Factors   Factors      `json:"factors"`
	Name      string       `json:"name"`
	Estimate  Number       `json:"estimate"`
	SE        Number       `json:"se"`
	DF        Number       `json:"df"`
	T         Number       `json:"t"`
	P         Number       `json:"p"`
	PAdjusted Number       `json:"p_adjusted"`
	Low       Number       `json:"low"`
	High      Number       `json:"high"`
	Verdict   compare.Word `json:"verdict"`
}

// weighted is a contrast before it is estimated.
type weighted struct {
	name    string
	weights []float64
	margin  float64 // NaN where the margin does not speak of it
}

// trends makes the linear and the quadratic trend over the levels of a factor
// whose levels are numbers. The linear trend is the slope of the straight line
// through the adjusted means, per unit of the level; the quadratic one the
// coefficient of the squared level in the parabola through them.
func trends(f family) []weighted {
	if f.value == nil {
		return nil
	}
	values := make([]float64, len(f.live))
	for a, i := range f.live {
		values[a] = f.value[i]
	}
	degree := min(2, len(values)-1)
	if degree < 2 {
		return nil // two levels have no trend but their difference
	}
	rows, err := linmod.PolynomialContrasts(values, degree)
	if err != nil {
		return nil
	}
	var out []weighted
	for d, row := range rows {
		scale := 0.0
		for a, w := range row {
			scale += w * math.Pow(values[a], float64(d+1))
		}
		w := weighted{name: [...]string{"linear trend", "quadratic trend"}[d], weights: make([]float64, len(f.labels)), margin: math.NaN()}
		for a, i := range f.live {
			w.weights[i] = row[a] / scale
		}
		out = append(out, w)
	}
	return out
}

// chosen are the contrasts of a family that the person asked for. The margin speaks of a
// difference of two averages.
func chosen(f family, contrasts []Chosen, margin float64) []weighted {
	var out []weighted
	for _, c := range contrasts {
		if !slices.Equal(c.Factors, f.of) {
			continue
		}
		w := weighted{name: c.Name, weights: make([]float64, len(f.labels)), margin: math.NaN()}
		plus := 0.0
		for i, level := range f.labels {
			w.weights[i] = c.Weights[level]
			plus += max(0, w.weights[i])
		}
		if math.Abs(plus-1) < 1e-9 {
			w.margin = margin
		}
		out = append(out, w)
	}
	return out
}

// contrasts estimates some contrasts of a family together.
func contrasts(f family, list []weighted, y yardstick) []Contrast {
	if len(list) == 0 || len(f.live) < 2 {
		return nil
	}
	rows := make([][]float64, len(list))
	for i, w := range list {
		rows[i] = w.weights
	}
	e := f.means.contrasts(rows)
	law := together(e)
	out := make([]Contrast, len(list))
	for i, w := range list {
		u := Unknown
		c := Contrast{Factors: f.of, Name: w.name, Estimate: u, SE: u, DF: u, T: u, P: u, PAdjusted: u, Low: u, High: u, Verdict: compare.Unresolved}
		if e.Estimable[i] {
			c.Estimate = Number(e.Value[i])
			if y.noise {
				df := e.DF[i]
				se, crit := math.Sqrt(e.Cov.At(i, i)), y.critical(law, df)
				t := e.Value[i] / se
				c.SE, c.DF, c.T = Number(se), Number(df), Number(t)
				c.P, c.PAdjusted = Number(single.Adjust(t, df)), Number(law.Adjust(t, df))
				c.Low, c.High = Number(e.Value[i]-crit*se), Number(e.Value[i]+crit*se)
				c.Verdict = compare.Judge(float64(c.Low), float64(c.High), w.margin)
			}
		}
		out[i] = c
	}
	return out
}

// together is the law of the estimable ones among some contrasts.
func together(e *mixed.Estimates) compare.Family {
	var keep []int
	for i, ok := range e.Estimable {
		if ok && e.Cov.At(i, i) > 0 {
			keep = append(keep, i)
		}
	}
	if len(keep) == 0 {
		return single
	}
	cov := mat.NewSymDense(len(keep), nil)
	for a, i := range keep {
		for b := a; b < len(keep); b++ {
			cov.SetSym(a, b, e.Cov.At(i, keep[b]))
		}
	}
	return compare.Together(compare.Correlation(cov), false)
}

// checkContrasts says what is wrong with the contrasts asked for.
func (q Request) checkContrasts(d Data) error {
	for _, c := range q.Contrasts {
		family := c.Factors.Term()
		levels := q.levelsOf(d, c.Factors)
		if levels == nil {
			return refuse("contrast %q is of %q, which is not among the factors that are compared", c.Name, family)
		}
		for _, level := range slices.Sorted(maps.Keys(c.Weights)) {
			if index(levels, level) < 0 {
				return refuse("contrast %q gives a weight to %q, which is no level of %s; its levels are %s", c.Name, level, family, words.List(words.Quoted(levels), mostNamed))
			}
		}
		sum, size := 0.0, 0.0
		for _, level := range levels {
			w := c.Weights[level]
			sum += w
			size += math.Abs(w)
		}
		if size == 0 || !(math.Abs(sum) <= 1e-9*size) {
			return refuse("the weights of contrast %q add to %v; they must add to zero, as 1, -0.5, -0.5 do", c.Name, sum)
		}
	}
	return nil
}

// levelsOf lists the levels of the family of some factors; nil if there is none.
func (q Request) levelsOf(d Data, factors []string) []string {
	if !q.Interactions || len(d.Treatments) == 1 {
		for _, f := range d.Treatments {
			if slices.Equal(factors, []string{f.Name}) {
				return f.Levels
			}
		}
		return nil
	}
	if !slices.Equal(factors, names(d.Treatments)) {
		return nil
	}
	labels := d.Treatments[0].Levels
	for _, f := range d.Treatments[1:] {
		var next []string
		for _, l := range labels {
			for _, level := range f.Levels {
				next = append(next, l+" "+level)
			}
		}
		labels = next
	}
	return labels
}
