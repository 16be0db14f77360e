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

// leaveOut takes runs without a noted value out of the analysis, and covariates
// without any value out of the model; both are said.
func (s *subject) leaveOut() {
	var kept []linmod.Covariate
	for _, c := range s.d.Noted {
		var without []int
		known := 0
		for i, y := range s.y {
			switch {
			case math.IsNaN(y):
			case math.IsNaN(c.Value[i]):
				without = append(without, i)
			default:
				known++
			}
		}
		if known == 0 {
			s.warn(c.Name, "no run has a value of %s, so the comparison is not adjusted for it", c.Name)
			continue
		}
		kept = append(kept, c)
		if len(without) == 0 {
			continue
		}
		for _, i := range without {
			s.y[i] = math.NaN()
		}
		s.warn(c.Name, "%s %s no value of %s and cannot be adjusted for it: left out of the comparison", s.rowNames(without), words.Agree(len(without), "has", "have"), c.Name)
	}
	s.d.Noted = kept
}

// mostRows is how many rows a message names.
const mostRows = 10

// rowNames names some rows.
func (s *subject) rowNames(rows []int) string {
	names := make([]string, len(rows))
	for k, i := range rows[:min(mostRows, len(rows))] {
		names[k] = s.rowName(i)
	}
	return words.List(names, mostRows)
}

// adjusted asks of every noted covariate whether the treatments move it: the F test
// of the treatments with the covariate as the response, blocks and drift as in
// the model. Where they do, adjusting takes away that part of their effect which
// goes through it (Cochran 1957, Biometrics 13: 261–281).
func (s *subject) adjusted() {
	for _, c := range s.d.Noted {
		m := s.model
		m.Blocks, m.Covariates = slices.Concat(s.d.Recovered, s.d.Blocks), s.d.Covariates
		x := make([]float64, len(s.y))
		for i, y := range s.y {
			if x[i] = math.NaN(); !math.IsNaN(y) {
				x[i] = c.Value[i]
			}
		}
		fit, err := linmod.Fit(m, x)
		switch {
		case err != nil:
			s.pass(c.Name, err)
			continue
		case fit.DF == 0 || fit.Joint().DF == 0:
			s.note(c.Name, "whether the settings move it is not checked: the runs are too few to tell")
			continue
		case fit.RSS == 0 && fit.Joint().SS == 0:
			s.note(c.Name, "it tells no more of these runs than blocks and drift do: there is nothing to adjust for")
			continue
		}
		f := Number(math.Inf(1)) // without noise any difference is one
		p := Number(0)
		if row := (leastSquares{fit, fit.Sigma2}).joint(); row.P.Known() {
			f, p = row.F, row.P
		}
		s.judgeCheck(c.Name, float64(f), float64(p), "the settings do not move it, so adjusting for it is fair",
			fmt.Sprintf("it differs between the settings (p = %.2g): where the setting itself moves it, adjusting takes that part of the effect away; judge without it too", float64(p)))
	}
}
