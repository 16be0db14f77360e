package verdict

import (
	"fmt"
	"math"
	"slices"

	"fairrun/stats/check"
	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

// doubt is the level at which a check of the model is flagged. With half a
// dozen checks a level of 0.05 would flag every third sound campaign.
const doubt = 0.01

// maxNormality is the most runs that the test of normality takes. With more,
// means are near enough to normal whatever the law of the runs.
const maxNormality = 5000

// maxSerial is the most runs for which neighbours are tested against the very
// columns of the model.
const maxSerial = 2000

// fewRuns is how many runs a treatment must have on average for Brown & Forsythe's test: with
// three it cannot call any difference, with five hardly one. Hines & Hines's stands in.
const fewRuns = 6

// check looks at whether the model may be believed and, where it may not,
// makes the tests that lean on less.
func (s *subject) check() {
	if s.sigma2 == 0 || s.fit.DF == 0 || s.fit.RSS == 0 {
		return
	}
	e := s.fit.Residuals()
	odd, far := s.normality(e), s.outliers(e)
	s.doubts = doubts{shape: odd || far, spread: s.spread(e)}
	s.sequence()
	s.alternatives(e, s.doubts)
	s.alikeIn()
}

// doubts are the ways in which the model failed its checks.
type doubts struct {
	shape  bool // long tails, skewness, a run far from the others
	spread bool // levels that scatter unequally
}

// judgeCheck adds a check with its p-value: flagged with the words bad when it
// is under doubt, otherwise with the words good.
func (s *subject) judgeCheck(name string, statistic, p float64, good, bad string) bool {
	flag := p < doubt
	c := Check{Name: name, Statistic: Number(statistic), P: Number(p), Flag: flag, Message: good}
	if flag {
		c.Message = bad
	}
	s.out.Checks = append(s.out.Checks, c)
	return flag
}

// pass adds a check that could not be made.
func (s *subject) pass(name string, err error) bool {
	s.note(name, "not checked: %v", err)
	return false
}

func (s *subject) normality(e []float64) bool {
	const name = "normality (Shapiro-Wilk)"
	if s.fit.N > maxNormality {
		return s.pass(name, fmt.Errorf("with %d runs the means are near enough to normal whatever the law of the runs", s.fit.N))
	}
	r, err := check.ShapiroWilk(e)
	if err != nil {
		return s.pass(name, err)
	}
	return s.judgeCheck(name, r.Statistic, r.P, "the residuals look normal", fmt.Sprintf("the residuals do not look normal (p = %.2g): long tails, a lopsided law, or a few odd runs", r.P))
}

func (s *subject) outliers(e []float64) bool {
	const name = "outliers"
	r, err := check.Outliers(e, s.fit.Leverages(), s.fit.Sigma2, s.fit.DF)
	if err != nil {
		return s.pass(name, err)
	}
	t, p := r.T[r.Worst], r.Adjusted[r.Worst]
	far := fmt.Sprintf("residual of %.1f standard errors, Bonferroni p = %.2g", t, p)
	if math.IsInf(t, 0) {
		far = "without it the model fits every other run to the last digit"
	}
	return s.judgeCheck(name, t, p, "no run stands out from the others",
		fmt.Sprintf("%s lies far from the others (%s): look at its log; leave it out only if you can say what spoiled it", s.rowName(r.Worst), far))
}

func (s *subject) spread(e []float64) bool {
	groups := s.byTreatment(e)
	flag := false
	robust, test := "equal spread (Brown-Forsythe)", check.BrownForsythe
	if len(groups)*fewRuns > s.fit.N {
		robust, test = "equal spread (Hines-Hines)", check.HinesHines
	}
	if r, err := test(groups); err != nil {
		s.pass(robust, err)
	} else {
		flag = s.judgeCheck(robust, r.Statistic, r.P, "the levels scatter alike", fmt.Sprintf("the levels do not scatter alike (p = %.2g): an interval made with the common noise is too short for some and too long for others", r.P))
	}
	const keen = "equal spread (Bartlett)"
	if r, err := check.Bartlett(groups); err != nil {
		s.pass(keen, err)
	} else {
		flag = s.judgeCheck(keen, r.Statistic, r.P, "the levels scatter alike", fmt.Sprintf("the levels do not scatter alike (p = %.2g); this test also answers to long tails", r.P)) || flag
	}
	return flag
}

// byTreatment gathers values of the used rows by treatment, treatments without
// a run left out.
func (s *subject) byTreatment(values []float64) [][]float64 {
	at := map[uint64]int{}
	var out [][]float64
	for i, v := range values {
		if math.IsNaN(v) {
			continue
		}
		key := uint64(0)
		for _, f := range s.d.Treatments {
			key = key*uint64(len(f.Levels)) + uint64(f.Code[i])
		}
		k, seen := at[key]
		if !seen {
			k = len(out)
			at[key] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], v)
	}
	return out
}

// sequence looks for what order left behind: stretches on one side, neighbours
// alike, a trend.
func (s *subject) sequence() {
	order := s.inOrder()
	const stretches = "run order (runs test)"
	if r, err := check.RunsTest(s.sided(order)); err != nil {
		s.pass(stretches, err)
	} else {
		s.judgeCheck(stretches, float64(r.Count), r.P, "residuals fall on either side in random order",
			fmt.Sprintf("residuals stay on one side for long stretches, or change sides too often (p = %.2g): something drifted that the model does not hold", r.P))
	}
	s.neighbours(order)
	s.leftover()
}

// sided lists the residuals in run order for a test of which side of their median they lie on. In
// small layouts residuals are often equal or zero but for rounding, which must not choose the
// side: those of runs that the model fits whatever their value are left out (NaN), equal
// ones made equal.
func (s *subject) sided(order []int) []float64 {
	e := s.fit.Residuals()
	sorted := make([]float64, len(order))
	for k, i := range order {
		sorted[k] = e[i]
	}
	if len(order) > maxSerial {
		return sorted
	}
	const fitted = 1 - 1e-9
	leverages := s.fit.Leverages()
	var free []float64
	for k, i := range order {
		if leverages[i] > fitted {
			sorted[k] = math.NaN()
		} else {
			free = append(free, sorted[k])
		}
	}
	joinTies([][]float64{free})
	for k, at := 0, 0; k < len(sorted); k++ {
		if !math.IsNaN(sorted[k]) {
			sorted[k] = free[at]
			at++
		}
	}
	return sorted
}

// leftover tests whether a straight or bent trend in run order explains
// anything beyond the model: the F test of adding it.
func (s *subject) leftover() {
	const name = "left-over drift"
	straight := linmod.Covariate{Name: "order", Value: s.when()}
	bent := linmod.Covariate{Name: "order^2", Value: make([]float64, len(s.y))}
	for i, t := range straight.Value {
		bent.Value[i] = t * t
	}
	m := s.within
	m.Covariates = append(slices.Clone(m.Covariates), straight, bent)
	r, err := linmod.Fit(m, s.y)
	df := float64(s.fit.DF)
	switch {
	case err != nil:
		s.pass(name, err)
	case r.DF == s.fit.DF:
		s.note(name, "the model holds all of it already")
	case r.DF == 0 || r.RSS == 0:
		s.note(name, "not checked: too few degrees of freedom are left")
	default:
		d1, d2 := df-float64(r.DF), float64(r.DF)
		f := (s.fit.RSS - r.RSS) / d1 / r.Sigma2
		p := law.F{D1: d1, D2: d2}.Survival(f)
		s.judgeCheck(name, f, p, "no drift in run order is left over",
			fmt.Sprintf("a drift in run order is left over (p = %.2g): the drift in the model does not hold all of it", p))
	}
}

// when is the time of each run, centred so that its square is not its copy.
func (s *subject) when() []float64 {
	out := make([]float64, len(s.y))
	for i := range out {
		out[i] = float64(i) - float64(len(out)-1)/2
		if s.d.Order != nil {
			out[i] = s.d.Order[i]
		}
	}
	return out
}

// rowName is what a person calls a row.
func (s *subject) rowName(row int) string {
	if s.d.Name != nil {
		return s.d.Name(row)
	}
	return fmt.Sprintf("row %d", row+1)
}
