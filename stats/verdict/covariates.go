package verdict

import (
	"fmt"
	"math"
	"slices"

	"fairrun/stats/linmod"
	"fairrun/stats/words"
)

// covariates lists all covariates of the model: drift, then what was noted.
func (d *Data) covariates() []linmod.Covariate { return slices.Concat(d.Covariates, d.Noted) }

// leaveOut takes runs without a noted value out of y, and returns the covariates
// that have a value; both are said.
func leaveOut(noted []linmod.Covariate, y []float64, rowName func(row int) string) (kept []linmod.Covariate, said remarks) {
	for _, c := range noted {
		var without []int
		known := 0
		for i, y := range y {
			switch {
			case math.IsNaN(y):
			case math.IsNaN(c.Value[i]):
				without = append(without, i)
			default:
				known++
			}
		}
		if known == 0 {
			said.warn(c.Name, "no run has a value of %s, so the comparison is not adjusted for it", c.Name)
			continue
		}
		kept = append(kept, c)
		if len(without) == 0 {
			continue
		}
		for _, i := range without {
			y[i] = math.NaN()
		}
		said.warn(c.Name, "%s %s no value of %s and cannot be adjusted for it: left out of the comparison", rowNames(without, rowName), words.Agree(len(without), "has", "have"), c.Name)
	}
	return kept, said
}

// moved asks of every noted covariate whether the treatments move it: the F test
// of the treatments with the covariate as the response, blocks and drift as in
// the model. Where they do, adjusting takes away that part of their effect which
// goes through it (Cochran 1957, Biometrics 13: 261–281).
func moved(noted []linmod.Covariate, m linmod.Model, y []float64) (said remarks) {
	for _, c := range noted {
		x := make([]float64, len(y))
		for i, y := range y {
			if x[i] = math.NaN(); !math.IsNaN(y) {
				x[i] = c.Value[i]
			}
		}
		fit, err := linmod.Fit(m, x)
		switch {
		case err != nil:
			said.skip(c.Name, err)
			continue
		case fit.DF == 0 || fit.Joint().DF == 0:
			said.note(c.Name, "whether the settings move it is not checked: the runs are too few to tell")
			continue
		case fit.RSS == 0 && fit.Joint().SS == 0:
			said.note(c.Name, "it tells no more of these runs than blocks and drift do: there is nothing to adjust for")
			continue
		}
		f := Number(math.Inf(1)) // without noise any difference is one
		p := Number(0)
		if row := (leastSquares{fit, fit.Sigma2}).joint(); row.P.Known() {
			f, p = row.F, row.P
		}
		said.judge(c.Name, float64(f), float64(p), "the settings do not move it, so adjusting for it is fair",
			fmt.Sprintf("it differs between the settings (%s): where the setting itself moves it, adjusting takes that part of the effect away; judge without it too", words.P(float64(p))))
	}
	return said
}
