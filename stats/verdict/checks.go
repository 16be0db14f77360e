package verdict

import (
	"fmt"
	"math"
	"slices"

	"fairrun/stats/check"
	"fairrun/stats/linmod"
	"fairrun/stats/words"
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

// doubts are the ways in which the model failed its checks.
type doubts struct {
	shape  bool // long tails, skewness, a run far from the others
	spread bool // levels that scatter unequally
}

// checkRuns looks at whether the residuals are as the model has them.
func checkRuns(r *linmod.Result, treatments []linmod.Factor, rowName func(row int) string) (said remarks, d doubts) {
	e := r.Residuals()
	normal, odd := normality(e, r.N)
	outlier, far := outliers(e, r, rowName)
	scatter, spread := spread(byTreatment(e, treatments), r.N)
	return slices.Concat(normal, outlier, scatter), doubts{shape: odd || far, spread: spread}
}

func normality(e []float64, runs int) (said remarks, odd bool) {
	const name = "normality (Shapiro-Wilk)"
	if runs > maxNormality {
		said.skip(name, fmt.Errorf("with %d runs the means are near enough to normal whatever the law of the runs", runs))
		return said, false
	}
	r, err := check.ShapiroWilk(e)
	if err != nil {
		said.skip(name, err)
		return said, false
	}
	odd = said.judge(name, r.Statistic, r.P, "the residuals look normal", fmt.Sprintf("the residuals do not look normal (%s): long tails, a lopsided law, or a few odd runs", words.P(r.P)))
	return said, odd
}

func outliers(e []float64, fit *linmod.Result, rowName func(row int) string) (said remarks, far bool) {
	const name = "outliers"
	r, err := check.Outliers(e, fit.Leverages(), fit.Sigma2, fit.DF)
	if err != nil {
		said.skip(name, err)
		return said, false
	}
	t, p := r.T[r.Worst], r.Adjusted[r.Worst]
	how := fmt.Sprintf("residual of %.1f standard errors, Bonferroni %s", t, words.P(p))
	if math.IsInf(t, 0) {
		how = "without it the model fits every other run to the last digit"
	}
	far = said.judge(name, t, p, "no run stands out from the others",
		fmt.Sprintf("%s lies far from the others (%s): look at its log; leave it out only if you can say what spoiled it", rowName(r.Worst), how))
	return said, far
}

func spread(groups [][]float64, runs int) (said remarks, flag bool) {
	robust, test := "equal spread (Brown-Forsythe)", check.BrownForsythe
	if len(groups)*fewRuns > runs {
		robust, test = "equal spread (Hines-Hines)", check.HinesHines
	}
	if r, err := test(groups); err != nil {
		said.skip(robust, err)
	} else {
		flag = said.judge(robust, r.Statistic, r.P, "the levels scatter alike", fmt.Sprintf("the levels do not scatter alike (%s): an interval made with the common noise is too short for some and too long for others", words.P(r.P)))
	}
	const keen = "equal spread (Bartlett)"
	if r, err := check.Bartlett(groups); err != nil {
		said.skip(keen, err)
	} else {
		flag = said.judge(keen, r.Statistic, r.P, "the levels scatter alike", fmt.Sprintf("the levels do not scatter alike (%s); this test also answers to long tails", words.P(r.P))) || flag
	}
	return said, flag
}

// byTreatment gathers values of the used rows by treatment, treatments without
// a run left out.
func byTreatment(values []float64, treatments []linmod.Factor) [][]float64 {
	at := map[uint64]int{}
	var out [][]float64
	for i, v := range values {
		if math.IsNaN(v) {
			continue
		}
		key := uint64(0)
		for _, f := range treatments {
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
