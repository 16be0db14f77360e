package verdict

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// Chosen is a contrast that the person asks for: a weighted sum of the adjusted
// means of one family, such as the mean of two levels less a third.
type Chosen struct {
	Name    string
	Factors Factors            // of the family: one factor, or all of a model with interactions
	Weights map[string]float64 // of its levels; levels left out weigh nothing. They add to zero
}

// Contrast is a weighted sum of adjusted means on the scale of the analysis.
// Low and High of trends hold together with the comparisons of their factor (see trended), those of contrasts that were
// asked for with one another.
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
	values := f.liveValues()
	var out []weighted
	for d, row := range f.trends {
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

// contrasts estimates some contrasts of a family by the law that holds them together; nil: with one another alone.
func contrasts(f family, list []weighted, law compare.Family, y yardstick) []Contrast {
	if len(list) == 0 || len(f.live) < 2 {
		return nil
	}
	e := f.means.contrasts(weights(list))
	if law == nil {
		law = together(e)
	}
	out := make([]Contrast, len(list))
	for i, w := range list {
		out[i] = contrast(f, w, e, i, law, y)
	}
	return out
}

// weights are the rows of some contrasts.
func weights(list []weighted) [][]float64 {
	rows := make([][]float64, len(list))
	for i, w := range list {
		rows[i] = w.weights
	}
	return rows
}

// contrast is that which stands at i among some estimates, by the law that holds them together.
func contrast(f family, w weighted, e *mixed.Estimates, i int, law compare.Family, y yardstick) Contrast {
	u := Unknown
	c := Contrast{Factors: f.of, Name: w.name, Estimate: u, SE: u, DF: u, T: u, P: u, PAdjusted: u, Low: u, High: u, Verdict: compare.Unresolved}
	if !e.Estimable[i] {
		return c
	}
	c.Estimate = Number(e.Value[i])
	if !y.noise {
		return c
	}
	se, df := math.Sqrt(e.Cov.At(i, i)), e.DF[i]
	c.SE, c.DF, c.T = Number(se), Number(df), Number(e.Value[i]/se)
	c.P = Number(single.Adjust(float64(c.T), df))
	c.judge(law, se, df, w.margin, y)
	return c
}

// judge reads adjusted p, interval and word off a law whose critical values count in the standard error given.
func (c *Contrast) judge(law compare.Family, se, df, margin float64, y yardstick) {
	half := Number(y.critical(law, df) * se)
	c.PAdjusted = y.adjusted(law, math.Abs(float64(c.Estimate))/se, df)
	c.Low, c.High = c.Estimate-half, c.Estimate+half
	c.Verdict = compare.Judge(float64(c.Low), float64(c.High), margin)
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
	if len(factors) == 1 && q.Chosen == nil || !q.Interactions || len(d.Treatments) == 1 {
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
