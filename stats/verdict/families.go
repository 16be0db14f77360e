package verdict

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// family is a set of levels that are compared with one another: the levels of
// one factor, or the combinations of several. Beside combinations stand the levels of
// each factor, averaged over the others.
type family struct {
	of      Factors
	factors []int    // whose levels or combinations they are
	alone   bool     // it is of all the factors
	noise   *byLevel // nil: the levels have one noise
	average bool     // over factors that it does not name, beside the family of combinations
	labels  []string // of the means
	means   *adjusted
	n       []int            // good runs behind each mean
	all     *mixed.Estimates // the means themselves, as deviations from the centre
	live    []int            // means that can take part
	base    int              // index of the baseline, or -1
	value   []float64        // numeric value of each level; nil when the levels are not numbers
	trends  [][]float64      // over the levels that can take part, a row of weights each; nil when there are none
}

// gather returns one family a factor, or with interactions one of all
// combinations and then one of each factor averaged over the others.
func gather(e estimator, treatments []linmod.Factor, q *Request) (families []family, said remarks) {
	sets := make([][]int, len(treatments))
	for i := range treatments {
		sets[i] = []int{i}
	}
	if q.Interactions && len(treatments) > 1 {
		combinations := [][]int{slices.Concat(sets...)}
		if q.Chosen != nil { // some are not planned, so that nothing averages over all
			sets = nil
		}
		sets = append(combinations, sets...)
	}
	for _, set := range sets {
		means, err := e.means(set...)
		if err != nil {
			said.warn("adjusted mean", "%v", err)
			continue
		}
		f := newFamily(means, treatments, set, q.Baseline)
		if own, ok := e.(byLevel); ok {
			f.noise = &own
		}
		if q.Interactions && len(set) < len(treatments) {
			f.averageOver(families)
		}
		families = append(families, f)
	}
	return families, said
}

// averageOver makes the levels of a factor averages over the family of combinations: those take part
// of which every combination has a good run.
func (f *family) averageOver(families []family) {
	f.average = true
	if len(families) == 0 {
		return
	}
	whole := families[0]
	f.live = slices.DeleteFunc(f.live, func(i int) bool {
		for k, levels := range whole.means.levels {
			if levels[f.factors[0]] == f.means.levels[i][0] && whole.n[k] == 0 {
				return true
			}
		}
		return false
	})
	f.trends = linmod.Trends(f.liveValues())
}

// newFamily is the family of the adjusted means over the combinations of some factors.
func newFamily(means *adjusted, treatments []linmod.Factor, factors []int, baseline []string) family {
	of := make(Factors, len(factors))
	for k, i := range factors {
		of[k] = treatments[i].Name
	}
	f := family{of: of, factors: factors, alone: len(factors) == len(treatments), means: means,
		n: means.n, all: means.contrasts(identity(len(means.levels))), base: -1}
	for i, levels := range means.levels {
		f.labels = append(f.labels, label(treatments, factors, levels))
		if means.n[i] > 0 {
			f.live = append(f.live, i)
		}
		if isBaseline(treatments, factors, levels, baseline) {
			f.base = i
		}
	}
	if len(factors) == 1 {
		f.value = LevelValues(f.labels)
		f.trends = linmod.Trends(f.liveValues())
	}
	return f
}

// liveValues are the numeric values of the levels that can take part; nil when the levels are not numbers.
func (f family) liveValues() (values []float64) {
	for _, i := range f.live {
		if f.value != nil {
			values = append(values, f.value[i])
		}
	}
	return values
}

// missing says why a level cannot take part.
func (f family) missing(i int) string {
	if f.n[i] > 0 {
		return "lacks a good run with some level of the other factors"
	}
	return "has no good run"
}

// df is what stands for the degrees of freedom of a whole family.
func (f family) df() float64 {
	return compare.FamilyDF(len(f.live), func(a, b int) (df float64, estimable bool) {
		e := f.between(f.live[a], f.live[b])
		return e.DF[0], e.Estimable[0]
	})
}

// covariance is that of the means that can take part.
func (f family) covariance() *mat.SymDense {
	c := mat.NewSymDense(len(f.live), nil)
	for a, i := range f.live {
		for b := a; b < len(f.live); b++ {
			c.SetSym(a, b, f.all.Cov.At(i, f.live[b]))
		}
	}
	return c
}

// between estimates "mean i minus mean j".
func (f family) between(i, j int) *mixed.Estimates {
	return f.means.contrasts([][]float64{difference(len(f.labels), i, j)})
}

// difference is the contrast "mean i minus mean j".
func difference(n, i, j int) []float64 {
	row := make([]float64, n)
	row[i], row[j] = 1, -1
	return row
}

// identity is the contrasts that are the means themselves.
func identity(n int) [][]float64 {
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = unit(n, i)
	}
	return rows
}

func unit(n, i int) []float64 {
	row := make([]float64, n)
	row[i] = 1
	return row
}

// label joins the level names of a combination with blanks.
func label(treatments []linmod.Factor, factors, levels []int) string {
	parts := make([]string, len(factors))
	for i, f := range factors {
		parts[i] = treatments[f].Levels[levels[i]]
	}
	return strings.Join(parts, " ")
}

// every is the indexes of all treatment factors.
func every(treatments []linmod.Factor) []int {
	all := make([]int, len(treatments))
	for i := range all {
		all[i] = i
	}
	return all
}

// isBaseline says whether every factor stands at its baseline.
func isBaseline(treatments []linmod.Factor, factors, levels []int, baseline []string) bool {
	if len(baseline) == 0 {
		return false
	}
	for i, f := range factors {
		if treatments[f].Levels[levels[i]] != baseline[f] {
			return false
		}
	}
	return true
}

// planned says whether a combination is one of those chosen, of all factors; nil: all.
func planned(chosen [][]int, levels []int) bool {
	return chosen == nil || slices.ContainsFunc(chosen, func(c []int) bool { return len(c) != len(levels) || slices.Equal(c, levels) })
}

// adjustedMeans are the means of a family with their own intervals.
func adjustedMeans(f family, chosen [][]int, y yardstick) (means []Mean, said remarks) {
	for i, label := range f.labels {
		if f.n[i] == 0 && !planned(chosen, f.means.levels[i]) {
			continue
		}
		m := Mean{Factors: f.of, Level: label, N: f.n[i], Estimate: Unknown, SE: Unknown, DF: Unknown, Low: Unknown, High: Unknown}
		switch {
		case f.all.Estimable[i]:
			m.place(y, f.all.Value[i], f.all.Cov.At(i, i), f.all.DF[i])
		case f.n[i] == 0:
			said.warn("empty level", "%s %q has no good run, so nothing can be said of it", f.of.Term(), label)
		default:
			said.warn("adjusted mean", "the mean of %s %q cannot be had: the runs leave empty some cells that it averages over", f.of.Term(), label)
		}
		means = append(means, m)
	}
	return means, said
}

// place puts a mean on the response's scale: v is its deviation from the
// centre.
func (m *Mean) place(y yardstick, v, variance, df float64) {
	se := math.Sqrt(variance)
	m.Estimate = Number(y.onScale(v))
	if !y.noise {
		return
	}
	m.SE, m.DF = Number(se), Number(df)
	t := single.Critical(y.alpha, df)
	m.Low, m.High = Number(y.onScale(v-t*se)), Number(y.onScale(v+t*se))
	if y.scale == Log {
		m.SE = Number(se * y.onScale(v)) // the delta method
	}
}
