package verdict

import (
	"math"
	"strings"

	"fairrun/stats/mixed"
)

// family is a set of levels that are compared with one another: the levels of
// one factor, or the combinations of several.
type family struct {
	name    string
	factors []int    // whose levels or combinations they are
	labels  []string // of the means
	means   *adjusted
	n       []int            // good runs behind each mean
	all     *mixed.Estimates // the means themselves, as deviations from the centre
	live    []int            // means that can take part
	base    int              // index of the baseline, or -1
	value   []float64        // numeric value of each level; nil when the levels are not numbers
}

// gather returns one family a factor, or with interactions one of all
// combinations.
func (s *subject) gather() []family {
	var sets [][]int
	if s.q.Interactions && len(s.d.Treatments) > 1 {
		whole := make([]int, len(s.d.Treatments))
		for i := range whole {
			whole[i] = i
		}
		sets = [][]int{whole}
	} else {
		for i := range s.d.Treatments {
			sets = append(sets, []int{i})
		}
	}
	var out []family
	for _, set := range sets {
		if f := s.family(set); f.means != nil {
			out = append(out, f)
		}
	}
	return out
}

// family gathers the adjusted means over the combinations of some factors.
func (s *subject) family(factors []int) family {
	var names []string
	for _, i := range factors {
		names = append(names, s.d.Treatments[i].Name)
	}
	means, err := s.fitted.means(factors...)
	if err != nil {
		s.warn("adjusted mean", "%v", err)
		return family{}
	}
	f := family{name: strings.Join(names, ":"), factors: factors, means: means, n: means.n, all: means.contrasts(identity(len(means.levels))), base: -1}
	for i, levels := range means.levels {
		f.labels = append(f.labels, s.label(factors, levels))
		if means.n[i] > 0 {
			f.live = append(f.live, i)
		}
		if s.isBaseline(factors, levels) {
			f.base = i
		}
	}
	if len(factors) == 1 {
		f.value = numbers(f.labels)
	}
	return f
}

// identity is the contrasts that are the means themselves.
func identity(n int) [][]float64 {
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = unit(n, i)
	}
	return rows
}

// label joins the level names of a combination with blanks.
func (s *subject) label(factors, levels []int) string {
	parts := make([]string, len(factors))
	for i, f := range factors {
		parts[i] = s.d.Treatments[f].Levels[levels[i]]
	}
	return strings.Join(parts, " ")
}

// isBaseline says whether every factor stands at its baseline.
func (s *subject) isBaseline(factors, levels []int) bool {
	if len(s.q.Baseline) == 0 {
		return false
	}
	for i, f := range factors {
		if s.d.Treatments[f].Levels[levels[i]] != s.q.Baseline[f] {
			return false
		}
	}
	return true
}

// planned says whether a combination is one that the plan holds.
func (s *subject) planned(levels []int) bool {
	if s.q.Chosen == nil || len(levels) != len(s.d.Treatments) {
		return true
	}
	for _, c := range s.q.Chosen {
		same := true
		for i := range c {
			same = same && c[i] == levels[i]
		}
		if same {
			return true
		}
	}
	return false
}

// link says which means a comparison of the verdict compares.
type link struct {
	comparison int // of the verdict
	family     int // of the subject
	i, j       int // means of the family: i less j
}

// compare fills in the means and comparisons of one family.
func (s *subject) compare(k int) {
	f := s.families[k]
	s.means(f)
	if len(f.live) < 2 {
		return
	}
	switch s.q.Compare {
	case Pairs:
		s.pairs(k)
	case Baseline:
		s.againstBaseline(k)
	case Best:
		s.withBest(k)
	}
	s.trends(f)
	s.chosen(f)
	s.best(f)
}

// means fills in the adjusted means with their own intervals.
func (s *subject) means(f family) {
	for i, label := range f.labels {
		if f.n[i] == 0 && !s.planned(f.means.levels[i]) {
			continue
		}
		m := Mean{Factor: f.name, Level: label, N: f.n[i], Estimate: Unknown, SE: Unknown, DF: Unknown, Low: Unknown, High: Unknown}
		switch {
		case f.all.Estimable[i]:
			s.place(&m, f.all.Value[i], f.all.Cov.At(i, i), f.all.DF[i])
		case f.n[i] == 0:
			s.warn("empty level", "%s %q has no good run, so nothing can be said of it", f.name, label)
		default:
			s.warn("adjusted mean", "the mean of %s %q cannot be had: the runs leave empty some cells that it averages over", f.name, label)
		}
		s.out.Means = append(s.out.Means, m)
	}
}

// place puts a mean on the response's scale: v is its deviation from the
// centre.
func (s *subject) place(m *Mean, v, variance, df float64) {
	se := math.Sqrt(variance)
	m.Estimate = Number(s.onScale(v))
	if s.sigma2 == 0 {
		return
	}
	m.SE, m.DF = Number(se), Number(df)
	t := single.Critical(s.q.Alpha, df)
	m.Low, m.High = Number(s.onScale(v-t*se)), Number(s.onScale(v+t*se))
	if s.m.Scale == Log {
		m.SE = Number(se * s.onScale(v)) // the delta method
	}
}

// onScale turns a deviation from the centre into a value of the response.
func (s *subject) onScale(v float64) float64 {
	if s.m.Scale == Log {
		return math.Exp(s.centre + v)
	}
	return s.centre + v
}
